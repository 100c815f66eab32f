"""Rules as data: the tree, its readings for one job, packs, rulebooks, reports.

Belongs here: what a rule is and how one job is judged by it. Does not: the
rules themselves (packs), columns (audit), JSON (interchange).
"""

from __future__ import annotations

from stemlore.rules._check import check
from stemlore.rules._layout import Subject
from stemlore.rules.ahead import Turn, turns
from stemlore.rules.build import (
    all_of,
    any_of,
    choose,
    constant,
    every,
    exp,
    field,
    first_known,
    greater,
    lesser,
    log,
    lookup,
    parameter,
    same,
    some,
    spread,
    today,
    years_since,
)
from stemlore.rules.changes import Comparison, RuleChange
from stemlore.rules.discovery import Discovery, FailedPack, FoundPack, discover, pack
from stemlore.rules.nodes import Node
from stemlore.rules.pack import Pack, PackFolder, pack_folder
from stemlore.rules.readings import Reading
from stemlore.rules.report import Finding, Report, RuleFault, UsedParameter
from stemlore.rules.rule import Basis, Cite, Gravity, Outcome, Rule, Shown, Tie
from stemlore.rules.rulebook import Coverage, Rulebook, TieCoverage, rulebook
from stemlore.rules.rulebooks import Rulebooks, rulebooks

__all__ = [
    "Basis",
    "Cite",
    "Comparison",
    "Coverage",
    "Discovery",
    "FailedPack",
    "Finding",
    "FoundPack",
    "Gravity",
    "Node",
    "Outcome",
    "Pack",
    "PackFolder",
    "Reading",
    "Report",
    "Rule",
    "RuleChange",
    "RuleFault",
    "Rulebook",
    "Rulebooks",
    "Shown",
    "Subject",
    "Tie",
    "TieCoverage",
    "Turn",
    "UsedParameter",
    "all_of",
    "any_of",
    "check",
    "choose",
    "constant",
    "discover",
    "every",
    "exp",
    "field",
    "first_known",
    "greater",
    "lesser",
    "log",
    "lookup",
    "pack",
    "pack_folder",
    "parameter",
    "rulebook",
    "rulebooks",
    "same",
    "some",
    "spread",
    "today",
    "turns",
    "years_since",
]
