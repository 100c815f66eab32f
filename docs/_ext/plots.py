"""A formula as a curve: ``formula-plot:: pressure_after``, drawn when the page is built.

Options: ``x`` the argument that varies, ``from`` and ``to`` its ends with units, ``with`` the others as
``name=value; name=value``, ``also`` further values of one of them as further curves, ``shown`` the unit
of the result.
"""

from __future__ import annotations

import io

import matplotlib
from docutils import nodes
from docutils.parsers.rst import directives
from matplotlib.figure import Figure
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

from stemlore.errors import StemloreError
from stemlore.formulas import Estimate, Formula, formula
from stemlore.units import DIMENSIONLESS, Unit, convert, read_quantity, show, unit

matplotlib.use("svg")
_POINTS = 60
_STYLES = ("-", "--", ":", "-.")  # told apart without colour


class FormulaPlot(SphinxDirective):
    """Draw a formula against one of its arguments."""

    required_arguments = 1
    option_spec = dict.fromkeys(("x", "from", "to", "with", "also", "shown"), directives.unchanged_required)

    def run(self) -> list[nodes.Node]:
        """Return the curve as SVG with a caption that says what was held."""
        try:
            svg, caption = self._drawn()
        except (KeyError, StemloreError) as error:
            raise self.error(f"formula-plot: {error}") from error
        figure = nodes.figure("", nodes.raw("", svg, format="html"), nodes.caption("", caption))
        return [figure]

    def _drawn(self) -> tuple[str, str]:
        of = formula(self.arguments[0])
        (first, given), (last, _) = read_quantity(self.options["from"]), read_quantity(self.options["to"])
        held = dict(
            part.split("=", 1) for part in map(str.strip, self.options.get("with", "").split(";")) if part
        )
        curves, varied = [held], ""
        if "also" in self.options:
            name, _, values = self.options["also"].partition("=")
            varied = name.strip()
            curves += [{**held, name.strip(): value.strip()} for value in values.split(",")]
        shown = unit(self.options["shown"]) if "shown" in self.options else of.returns
        points = [first + (last - first) * index / _POINTS for index in range(_POINTS + 1)]
        figure = Figure(figsize=(6.4, 3.4), layout="constrained")
        axes = figure.subplots()
        for curve, style in zip(curves, _STYLES, strict=False):
            drawn = [(x, _value(of, {**curve, self.options["x"]: f"{x} {given}"}, shown)) for x in points]
            seen = [(x, y) for x, y in drawn if y is not None]
            axes.plot(
                [x for x, _ in seen], [y for _, y in seen], style, color="0.15", label=_label(curve, varied)
            )
        argument = next(each for each in of.args if each.name == self.options["x"])
        axes.set_xlabel(_axis(argument.meaning, given))
        axes.set_ylabel(_axis(of.meaning, shown))
        axes.grid(visible=True, color="0.85")
        if len(curves) > 1:
            figure.legend(frameon=False, loc="outside upper center", ncols=len(curves))
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
        text = out.getvalue()
        svg = text[text.index("<svg") :].replace("<svg ", f'<svg role="img" aria-label="{of.name}" ', 1)
        fixed = "; ".join(f"{name} {value}" for name, value in held.items() if name != varied)
        return svg, f"{of.name}" + (f" at {fixed}" if fixed else "")


def _value(of: Formula, given: dict[str, str], shown: Unit) -> float | None:
    try:
        value, in_unit = of.quantity(**given)
    except StemloreError:
        return None  # outside the range that the formula holds in: no curve there
    number = value.value if isinstance(value, Estimate) else value
    return convert(float(number), in_unit, shown)


def _label(curve: dict[str, str], varied: str) -> str:
    return f"{varied.replace('_', ' ')} {curve.get(varied, '')}"


def _axis(meaning: str, of: Unit) -> str:
    symbol = "" if of is DIMENSIONLESS else f" [{show(1.0, of).split(maxsplit=1)[-1]}]"
    return f"{meaning.partition(',')[0]}{symbol}"


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the directive."""
    app.add_directive("formula-plot", FormulaPlot)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
