"""Packs: what they are, every rule, their sources, and how well they are sourced."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence

from docutils import nodes

from stemlore.model import field_spec
from stemlore.provenance import Grade
from stemlore.rules import Pack, Rule
from stemlore.rules.clauses import REASONS, Clause
from stemlore.rules.discovery import Discovery
from stemlore.rules.nodes import And, Node, Parameter, walk
from stemlore.rules.words import in_words
from stemlore.sphinxext._base import StemloreDirective, found_packs, pack_named
from stemlore.sphinxext._build import Content, bullets, code, fields, joined, paragraph, section, table
from stemlore.sphinxext._cases import case_table, cases_of
from stemlore.sphinxext._histories import history_block
from stemlore.sphinxext._links import cited, link, parameter_label, source_label, with_links
from stemlore.sphinxext._sources import source_item

__all__ = ["PackClauses", "PackCoverage", "PackRules", "PackSources", "PackSummary"]

_TIES = {
    "registered_in": "where the vehicle is registered",
    "used_in": "where the vehicle is used",
    "workshop": "where the workshop stands",
}


class PackSummary(StemloreDirective):
    """Place, version, parents and size of a pack."""

    def made(self) -> Sequence[nodes.Node]:
        """Return one list of fields."""
        pack = pack_named(self.env, self.arguments[0].strip())
        gravity = Counter(rule.gravity for rule in pack.rules.values())
        told = [f"{count} {each.value} ({each.meaning})" for each, count in sorted(gravity.items())]
        whole = pack.place in ("world", "EU", "UN")
        below = "subdivisions may have law of their own" if pack.own_law_below else "no law below the country"
        parents: list[Content] = [
            f"{each.id}{_span(each.starts, each.ends, lead=' ')}" for each in pack.parents
        ]
        retired = [f"{name} ({why.get('why', '')})" for name, why in pack.retired.items()]
        listed = fields(
            [
                ("Pack", [code(pack.id), nodes.Text(f", version {pack.version}")]),
                (
                    "Place",
                    pack.place if whole else f"{pack.place}; {below}",
                ),
                ("Rules of these hold too", joined(parents)),
                ("Answers from", pack.first_day.isoformat() if pack.first_day else ""),
                ("Rules", f"{len(pack.rules)}: {', '.join(told)}" if told else ""),
                ("Dated values", str(sum(len(each.values) for each in pack.parameters.values()) or "")),
                ("Retired rules", joined(retired)),
            ]
        )
        return [listed]


class PackRules(StemloreDirective):
    """Every rule of a pack, grouped by what it is about, with its limits."""

    def made(self) -> Sequence[nodes.Node]:
        """Return a section for each group, and a section in it for each rule."""
        pack = pack_named(self.env, self.arguments[0].strip())
        self._shown: set[str] = set()
        found = found_packs(self.env.config, self.env.srcdir)
        self._cases = cases_of(found.packs[pack.id].folder.path)
        groups: defaultdict[str, list[Rule]] = defaultdict(list)
        for rule in pack.rules.values():
            groups[rule.id.split(".")[1]].append(rule)
        out = []
        for name, rules in groups.items():
            made = section(name.replace("_", " ").capitalize(), *(self._rule(pack, rule) for rule in rules))
            self.target(made, f"rules:{pack.id}:{name}")
            out.append(made)
        others = [each for name, each in pack.parameters.items() if name not in self._shown]
        if others:
            made = section("Values that other packs read")
            made += [self._history(each.name, pack) for each in others]
            self.target(made, f"rules:{pack.id}:values")
            out.append(made)
        return out

    def _rule(self, pack: Pack, rule: Rule) -> nodes.section:
        made = section(rule.title)
        self.target(made, rule.id)
        tags = [
            code(rule.id),
            nodes.Text(f"about each {rule.subject}{', carried spare too' if rule.spare else ''}"),
            nodes.Text(f"tied to {_TIES[rule.tie.value]}"),
            nodes.Text(rule.basis.value),
            nodes.Text(f"{rule.gravity.value}: {rule.gravity.meaning}"),
        ]
        made += paragraph(joined(tags, " · "), classes=["stemlore-tags"])
        made += fields(
            [
                ("Must hold", self._must_hold(rule)),
                ("Applies where", _conditions(rule.when) if rule.when is not None else "always"),
                ("In force", _force(rule, pack)),
                ("Stands in for", joined(link(each, code(each)) for each in rule.supersedes)),
                ("If it fails", rule.advice),
                ("Caution", [nodes.strong("", rule.caution)] if rule.caution else ""),
                ("Source", cited(pack.citation(rule.cite), pack.id)),
                ("In bulk", "row by row" if rule.body is not None else "columns"),
            ]
        )
        made += [self._history(name, pack) for name in _parameters(rule)]
        cases = self._cases.get(rule.id, ())
        if cases:
            made += case_table(cases)
        return made

    def _must_hold(self, rule: Rule) -> Content:
        if rule.body is None:
            return _conditions(rule.check)
        read = ", ".join(field_spec(path).meaning for path in rule.reads)
        return f"{rule.title} (judged by Python code that reads {read})"

    def _history(self, name: str, pack: Pack) -> nodes.Node:
        if name not in pack.parameters:  # of another pack: told there
            return paragraph("Value of another pack: ", link(parameter_label(name), code(name)))
        if name in self._shown:
            told = pack.parameters[name].doc
            return paragraph(link(parameter_label(name), code(name)), f": {told} (dated values above)")
        self._shown.add(name)
        made = nodes.container("", *history_block(pack.parameters[name], target=True))
        self.target(made, parameter_label(name))
        return made


def _parameters(rule: Rule) -> tuple[str, ...]:
    trees = [tree for tree in (rule.check, rule.when) if tree is not None]
    if rule.body is not None:
        trees = trees[1:]
    names = (part.name for tree in trees for part in walk(tree) if isinstance(part, Parameter))
    return tuple(dict.fromkeys(names))


def _conditions(of: Node) -> Content:
    if isinstance(of, And):
        return [bullets(with_links(in_words(part)) for part in _parts(of))]
    return with_links(in_words(of))


def _parts(of: Node) -> Iterator[Node]:
    if isinstance(of, And):
        for part in of.parts:
            yield from _parts(part)
    else:
        yield of


def _span(starts: object, ends: object, *, lead: str = "") -> str:
    parts = [f"from {starts}" if starts else "", f"until {ends}" if ends else ""]
    told = " ".join(part for part in parts if part)
    return f"{lead}{told}" if told else ""


def _force(rule: Rule, pack: Pack) -> str:
    if rule.unseen_before is not None:
        start = f"seen in force on {rule.unseen_before}; its start is not in the sources"
        return f"{start}, {_span(None, rule.ends)}" if rule.ends else start
    if rule.starts is None:  # without dates of its own a rule follows its values
        own = [pack.parameters[name] for name in _parameters(rule) if name in pack.parameters]
        firsts = [each.first_day for each in own if not each.counts_from and each.first_day]
        return _span(max(firsts, default=None), rule.ends) or ("as its values" if own else "any day")
    return _span(rule.starts, rule.ends)


class PackSources(StemloreDirective):
    """The sources of a pack, by issuer."""

    def made(self) -> Sequence[nodes.Node]:
        """Return one list."""
        pack = pack_named(self.env, self.arguments[0].strip())
        made = nodes.bullet_list()
        for source in sorted(pack.sources.values(), key=lambda each: (each.issuer, each.number, each.title)):
            item = source_item(source, "")
            item["ids"] = []
            self.target(item, source_label(pack.id, source.id))
            made += item
        return [made] if len(made) else [paragraph("This pack names no source.")]


class PackClauses(StemloreDirective):
    """The clauses that a pack knows and no rule judges, by the reason."""

    def made(self) -> Sequence[nodes.Node]:
        """Return one table."""
        pack = pack_named(self.env, self.arguments[0].strip())
        if not pack.clauses:
            return [paragraph("Every clause that this pack knows is judged by a rule.")]
        order = list(REASONS)
        rows: list[list[Content]] = [
            [each.says, _why(each), _days(each), cited(each.citation, pack.id)]
            for each in sorted(pack.clauses, key=lambda one: order.index(one.why))
        ]
        return [table(["The clause", "Why no rule judges it", "In force", "Source"], rows)]


def _why(clause: Clause) -> Content:
    if clause.rule:
        return joined([REASONS[clause.why], link(clause.rule, code(clause.rule))], ": ")
    return REASONS[clause.why]


def _days(clause: Clause) -> str:
    return _span(clause.starts, clause.ends)


class PackCoverage(StemloreDirective):
    """How many rules and values a pack has, by grade of their source."""

    required_arguments = 0
    optional_arguments = 99

    def made(self) -> Sequence[nodes.Node]:
        """Return one table."""
        names = self.arguments or sorted(_installed(found_packs(self.env.config, self.env.srcdir)))
        rows = [row for name in names for row in _counted(pack_named(self.env, name))]
        head: list[Content] = ["Pack", "Of", "All", *(grade.value for grade in Grade)]
        return [table(head, rows, right=range(2, len(head)))]


def _installed(found: Discovery) -> Iterable[str]:
    return found.packs


def _counted(pack: Pack) -> Iterator[list[Content]]:
    for what, counts in pack.grades().items():
        first: Content = [code(pack.id)] if what == "rules" else ""
        yield [first, what, str(counts.total()), *(str(counts[grade] or "") for grade in Grade)]
