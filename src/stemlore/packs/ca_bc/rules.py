"""Law of British Columbia."""

from __future__ import annotations

from stemlore.rules import Cite, Rule, field, first_known, parameter

CAR = field("vehicle.category").equals("M1")
ASSUMED = parameter("ca_bc.winter.route_assumed")
SEASON = parameter("ca_bc.winter.season")
SEASON_MOUNTAIN = parameter("ca_bc.winter.season_mountain")
BOUND = (first_known(field("own.ca_bc.signed_route"), ASSUMED) & SEASON) | (
    first_known(field("own.ca_bc.mountain_route"), ASSUMED) & SEASON_MOUNTAIN
)
WINTER_MARK = field("tyre.mud_snow") | field("tyre.snowflake")

RULES = [
    Rule(
        id="ca_bc.tyre.winter_mark",
        title="On signed routes in the season the tyre of a car bears M+S or the snowflake",
        subject="position",
        when=CAR & BOUND,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("bc-winter", "season and marks"),
        advice="Fit winter tyres, or tell the driver to keep off the signed routes.",
    ),
    Rule(
        id="ca_bc.tyre.winter_tread",
        title="On signed routes in the season the tread of a car's tyre suffices for winter",
        subject="position",
        when=CAR & BOUND,
        check=field("tyre.tread_depth_whole_tread") >= parameter("ca_bc.winter.min_depth"),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("bc-mvar", "section 7.162"),
        advice="Fit winter tyres with more tread, or tell the driver to keep off the signed routes.",
    ),
    Rule(
        id="ca_bc.tyre.winter_season",
        title="In the winter months the tyre of a car bears M+S or the snowflake",
        subject="position",
        when=CAR & SEASON,
        check=WINTER_MARK,
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("bc-winter", "season and marks"),
        advice="Tell the driver: most routes outside the south-west coast are signed for winter tyres now.",
    ),
]
