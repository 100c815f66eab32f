"""What a torque tool of limited accuracy really applies, and where to set it.

Torques are in newton metres; text in lbf.in, lbf.ft or kgf.cm is converted.
"""

from __future__ import annotations

from stemlore.formulas._formula import WorkedExample, define_formula
from stemlore.formulas._operators import Number, choose, positive
from stemlore.formulas.constants import Cited
from stemlore.provenance import Grade

__all__ = [
    "greatest_true_torque",
    "highest_setting",
    "least_true_torque",
    "lowest_setting",
    "middle_setting",
    "tightest_tolerance",
    "tool_tolerance",
]

_GUIDE = Cited("sensor-guide", "step 2", Grade.SECONDARY)
_LABORATORY = Cited("torque-accuracy", "example", Grade.SECONDARY)
_TOOL = Cited("torque-tool-manual", "chapter 1", Grade.SECONDARY)

_SETTING = ("N.m", "torque that the tool is set to")
_TOLERANCE = ("1", "permitted deviation of the tool, as a share of its setting")
_LEAST = ("N.m", "least torque that the part asks for")
_GREATEST = ("N.m", "greatest torque that the part bears")
_SHARE = (
    "the deviation counts from the setting, as both sources do; ISO 6789 counts it from the true torque, "
    "which at 4 % moves the ends of the band by 0.16 %, at 6 % by 0.4 % of the setting"
)


def _is_set(setting: Number, tolerance: Number) -> Number:
    """The setting is above zero, the tolerance from 0 to below 1."""
    return positive(setting) & (tolerance >= 0) & (tolerance < 1)


@define_formula(
    args={"setting": _SETTING, "tolerance": _TOLERANCE},
    returns=("N.m", "least torque that is applied"),
    valid=_is_set,
    sources=[_GUIDE, _LABORATORY],
    misfit=_SHARE,
    examples=[
        WorkedExample({"setting": "4.0 N.m", "tolerance": "12 %"}, "3.5 N.m", "0.05 N.m", _GUIDE),
        WorkedExample({"setting": "100 lbf.ft", "tolerance": "4 %"}, "96 lbf.ft", "0.5 lbf.ft", _LABORATORY),
    ],
)
def least_true_torque(setting: Number, tolerance: Number) -> Number:
    """Least torque that a tool of some tolerance applies at a setting."""
    return setting * (1 - tolerance)


@define_formula(
    args={"setting": _SETTING, "tolerance": _TOLERANCE},
    returns=("N.m", "greatest torque that is applied"),
    valid=_is_set,
    sources=[_GUIDE, _LABORATORY],
    misfit=_SHARE,
    examples=[
        WorkedExample({"setting": "4.0 N.m", "tolerance": "12 %"}, "4.5 N.m", "0.05 N.m", _GUIDE),
        WorkedExample({"setting": "100 lbf.ft", "tolerance": "4 %"}, "104 lbf.ft", "0.5 lbf.ft", _LABORATORY),
    ],
)
def greatest_true_torque(setting: Number, tolerance: Number) -> Number:
    """Greatest torque that a tool of some tolerance applies at a setting."""
    return setting * (1 + tolerance)


def _is_least(least: Number, tolerance: Number) -> Number:
    """The torque is above zero, the tolerance from 0 to below 1."""
    return positive(least) & (tolerance >= 0) & (tolerance < 1)


@define_formula(
    args={"least": _LEAST, "tolerance": _TOLERANCE},
    returns=("N.m", "lowest setting that still reaches it"),
    valid=_is_least,
    sources=[_GUIDE],
    misfit=_SHARE,
    examples=[
        WorkedExample(
            {"least": "3.5 N.m", "tolerance": "12 %"},
            "4.0 N.m",
            "0.06 N.m",
            _GUIDE,
            "the guide rounds 3.52 to 3.5",
        )
    ],
)
def lowest_setting(least: Number, tolerance: Number) -> Number:
    """Lowest setting of a tool with which the part surely gets its least torque."""
    return least / (1 - tolerance)


def _is_greatest(greatest: Number, tolerance: Number) -> Number:
    """The torque is above zero, the tolerance from 0 to below 1."""
    return positive(greatest) & (tolerance >= 0) & (tolerance < 1)


@define_formula(
    args={"greatest": _GREATEST, "tolerance": _TOLERANCE},
    returns=("N.m", "highest setting that stays under it"),
    valid=_is_greatest,
    sources=[_GUIDE],
    misfit=_SHARE,
    examples=[
        WorkedExample(
            {"greatest": "4.5 N.m", "tolerance": "12 %"},
            "4.0 N.m",
            "0.06 N.m",
            _GUIDE,
            "the guide rounds 4.48 to 4.5",
        )
    ],
)
def highest_setting(greatest: Number, tolerance: Number) -> Number:
    """Highest setting of a tool with which the part surely gets no more than it bears.

    Below the lowest setting: the tool is too coarse for the part.
    """
    return greatest / (1 + tolerance)


def _is_band(least: Number, greatest: Number) -> Number:
    """The least torque is above zero and at most the greatest."""
    return positive(least) & (least <= greatest)


@define_formula(
    args={"least": _LEAST, "greatest": _GREATEST},
    returns=("N.m", "setting in the middle"),
    valid=_is_band,
    sources=[_GUIDE],
    examples=[
        WorkedExample({"least": "3.5 N.m", "greatest": "4.5 N.m"}, "4.0 N.m", "0.05 N.m", _GUIDE),
    ],
)
def middle_setting(least: Number, greatest: Number) -> Number:
    """Setting that leaves a tool the most room on both sides."""
    return (least + greatest) / 2


@define_formula(
    args={"least": _LEAST, "greatest": _GREATEST},
    returns=("1", "tolerance that a tool may have at the middle setting"),
    valid=_is_band,
    sources=[_GUIDE],
    misfit=_SHARE,
    examples=[
        WorkedExample(
            {"least": "3.5 N.m", "greatest": "4.5 N.m"}, "12 %", "0.6 %", _GUIDE, "the guide rounds its band"
        )
    ],
)
def tightest_tolerance(least: Number, greatest: Number) -> Number:
    """Greatest tolerance of a tool with which a torque can be kept between two limits."""
    return (greatest - least) / (greatest + least)


def _is_tool(greatest: Number) -> Number:
    """The greatest torque of the tool is above zero."""
    return positive(greatest)


@define_formula(
    args={"greatest": ("N.m", "greatest torque of the tool")},
    returns=("1", "permitted deviation"),
    valid=_is_tool,
    constants={
        "small": "iso6789.small_tool",
        "of_small": "iso6789.small_tolerance",
        "of_others": "iso6789.tolerance",
    },
    sources=[_TOOL],
    misfit=(
        "adjustable tools with a scale (type II, class A) by the edition of 2003, told by a tool's manual; "
        "the classes that other tools have were not readable; a worn or uncalibrated tool keeps no class"
    ),
    examples=[
        WorkedExample({"greatest": "10 N.m"}, "6 %", "0 %", _TOOL),
        WorkedExample({"greatest": "10.1 N.m"}, "4 %", "0 %", _TOOL, "above 10 N.m"),
        WorkedExample({"greatest": "200 N.m"}, "4 %", "0 %", _TOOL, "above 10 N.m"),
    ],
)
def tool_tolerance(greatest: Number, small: Number, of_small: Number, of_others: Number) -> Number:
    """Permitted deviation of an adjustable torque tool by ISO 6789, from its size."""
    return choose(greatest > small, of_others, of_small)
