"""The rule of XA that is no shape: a tree, with its limit in parameters/tread.toml."""

from stemlore.rules import Cite, Rule, field, parameter, spread

RULES = [
    Rule(
        id="xa.axle.tread_difference",
        title="Tread depths of one axle differ by no more than allowed",
        subject="axle",
        check=spread(field("tyre.tread_depth_main_grooves")) <= parameter("xa.tread.max_difference"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("road-act", "art. 13"),
        advice="Renew the more worn tyre.",
    )
]
