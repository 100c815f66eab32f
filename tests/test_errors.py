"""Every public error: root, builtin, message, pickle."""

from __future__ import annotations

import copy
import pickle
from typing import Any

import pytest

from stemlore import errors
from stemlore.errors import Fault, FaultyError, StemloreError, near_misses

CLASSES = [
    getattr(errors, name)
    for name in errors.__all__
    if isinstance(getattr(errors, name), type) and issubclass(getattr(errors, name), BaseException)
]
_FAULTS = [Fault("a[0].b", "is wrong", "put it right", "rules.toml:7"), Fault("", "empty")]


def make(cls: type[Any]) -> StemloreError:
    """Make an error of this class as the library does."""
    if issubclass(cls, FaultyError):
        made: StemloreError = cls("job", _FAULTS)
    elif cls is errors.NotationError:
        made = cls("tyre size", "205-55", 3, "a stroke is needed", suggestion="205/55 R16")
    elif cls is errors.NotInTableError:
        made = cls("load_index", 300, [279])
    elif cls is errors.MissingExtraError:
        made = cls("bulk audit", extra="audit")
    elif cls is errors.PackLoadError:
        made = cls("xa", "it has no rules", advice="reinstall it")
    elif issubclass(cls, errors._Unknown):
        made = cls("tyre.presure", ["tyre.pressure"])
    elif issubclass(cls, errors._Told):
        made = cls("it is wrong", advice="put it right")
    else:
        made = cls("it is wrong")
    return made


_BUILTINS = {
    "BareNumberError": TypeError,
    "ColumnError": LookupError,
    "DayError": ValueError,
    "DecisionUnavailableError": NotImplementedError,
    "DimensionError": TypeError,
    "DocumentError": ValueError,
    "LanguageError": LookupError,
    "MissingExtraError": ImportError,
    "NodeTruthError": TypeError,
    "NotInTableError": LookupError,
    "NotationError": ValueError,
    "OutOfRangeError": ValueError,
    "PackError": ValueError,
    "PackLoadError": ImportError,
    "RecordError": ValueError,
    "RuleError": ValueError,
    "SourceError": OSError,
    "TableError": ValueError,
    "UnitError": ValueError,
    "UnknownFieldError": AttributeError,
    "UnknownFormulaError": KeyError,
    "UnknownPlaceError": LookupError,
    "UnknownRuleError": KeyError,
    "UnknownTableError": KeyError,
    "WriteError": OSError,
}


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_each_error_has_the_root_and_the_builtin_it_resembles(cls: type[Any]) -> None:
    assert issubclass(cls, StemloreError)
    expected = _BUILTINS.get(cls.__name__)
    if expected is None:
        assert cls in (StemloreError, FaultyError)
    else:
        assert issubclass(cls, expected)
        with pytest.raises(expected):
            raise make(cls)


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_each_error_survives_pickling(cls: type[Any], protocol: int) -> None:
    error = make(cls)
    again = pickle.loads(pickle.dumps(error, protocol))
    assert type(again) is cls
    assert str(again) == str(error)
    assert again.__dict__ == error.__dict__
    assert again.args == error.args
    assert repr(again) == repr(error)
    # some builtins keep their name beside the attributes
    assert getattr(again, "name", None) == getattr(error, "name", None)


@pytest.mark.parametrize("cls", CLASSES, ids=lambda cls: cls.__name__)
def test_each_error_can_be_copied_and_says_something(cls: type[Any]) -> None:
    error = make(cls)
    assert str(copy.copy(error)) == str(error)
    assert str(error)
    assert cls is errors.NotationError or not str(error).startswith(("'", '"'))  # KeyError quotes its text


def test_a_fault_tells_where_and_what_to_do() -> None:
    fault = Fault("tyre.pressure", "is wrong", "put it right", "job.json:3")
    assert str(fault) == "job.json:3: tyre.pressure: is wrong (put it right)"
    assert fault.under("assemblies[2]").path == "assemblies[2].tyre.pressure"
    assert fault.under("") is fault
    assert Fault("[0]", "x").under("axles").path == "axles[0]"
    assert Fault("", "x").under("axles").path == "axles"
    assert str(Fault("", "x")) == "x"


def test_faults_are_listed_and_counted() -> None:
    error = errors.RecordError("Tyre", _FAULTS)
    assert str(error) == "Tyre: 2 faults\n  rules.toml:7: a[0].b: is wrong (put it right)\n  empty"
    assert str(errors.RecordError("Tyre", _FAULTS[1:])).startswith("Tyre: 1 fault\n")
    assert error.faults == tuple(_FAULTS)


def test_a_notation_error_shortens_long_text() -> None:
    error = errors.NotationError("tyre size", "9" * 500, 2, "it is too long")
    assert len(str(error)) < 150
    assert error.text == "9" * 500


def test_near_misses_come_best_first() -> None:
    assert near_misses("presure", ["pressure", "prelude", "size"])[0] == "pressure"
    assert near_misses("zzz", ["pressure"]) == ()
    assert "did you mean tyre.pressure?" in str(errors.UnknownFieldError("tyre.presure", ["tyre.pressure"]))


def test_a_missing_extra_says_what_to_install() -> None:
    assert "pip install 'stemlore[audit]'" in str(errors.MissingExtraError("bulk audit", extra="audit"))
