"""Formulas with arguments, range, sources and worked examples."""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections import defaultdict
from collections.abc import Sequence

from docutils import nodes

from stemlore.errors import UnknownFormulaError
from stemlore.formulas import Formula, WorkedExample, formulas
from stemlore.sphinxext._base import StemloreDirective
from stemlore.sphinxext._build import Content, bullets, code, fields, joined, paragraph, section, table
from stemlore.sphinxext._links import cited

__all__ = ["FormulaList"]


class FormulaList(StemloreDirective):
    """The formulas of one subject; without an argument of all, subject by subject."""

    required_arguments = 0
    optional_arguments = 1

    def made(self) -> Sequence[nodes.Node]:
        """Return a section for each formula; without an argument, in one for each subject."""
        if self.arguments:
            subject = self.arguments[0]
            mine = [each for each in formulas().values() if each.subject == subject]
            if not mine:
                raise UnknownFormulaError(subject, {each.subject for each in formulas().values()})
            return [self._formula(each) for each in mine]
        subjects: defaultdict[str, list[Formula]] = defaultdict(list)
        for each in formulas().values():
            subjects[each.subject].append(each)
        out = []
        for subject, listed in subjects.items():
            title = subject.replace("_", " ").capitalize()
            made = section(title, *(self._formula(each) for each in listed))
            self.target(made, f"formulas:{subject}")
            out.append(made)
        return out

    def _formula(self, of: Formula) -> nodes.section:
        made = section(code(of.name), paragraph(of.summary))
        self.target(made, f"formula:{of.name}")
        args: list[Content] = [
            [code(each.name), nodes.Text(f" [{each.unit}]: {each.meaning}")] for each in of.args
        ]
        made += fields(
            [
                ("Gives", f"{of.meaning} [{of.returns}]"),
                ("From", [bullets(args)] if args else ""),
                ("Valid", of.valid),
                ("Kind", of.kind),
                ("Sources", joined((cited(each.citation) for each in of.cited), "; ")),
                ("Differs", of.misfit),
            ]
        )
        made += nodes.literal_block("", _written(of), language="python")
        if of.examples:
            head = ["Given", "Printed", "Within", "Source"]
            made += table(head, [_example(each) for each in of.examples], classes=["stemlore-example"])
        return made


def _written(of: Formula) -> str:
    """Return what the formula computes, as it stands in its body, without the docstring."""
    (function,) = ast.parse(textwrap.dedent(inspect.getsource(of.body))).body
    if not isinstance(function, ast.FunctionDef):
        return ""
    body = [
        each
        for each in function.body
        if not (isinstance(each, ast.Expr) and isinstance(each.value, ast.Constant))
    ]
    return "\n".join(ast.unparse(each) for each in body)


def _given(value: str | tuple[str, ...]) -> str:
    """Write values as given; the unit of a plain number is left out."""
    values = [value] if isinstance(value, str) else value
    return ", ".join(each.removesuffix(" 1") for each in values)


def _example(of: WorkedExample) -> list[Content]:
    given = [[code(name), nodes.Text(f" {_given(value)}")] for name, value in of.given.items()]
    note: list[nodes.Node] = [nodes.Text(f"; {of.note}")] if of.note else []
    return [joined(given, "; "), of.result, of.tolerance, [*cited(of.citation), *note]]
