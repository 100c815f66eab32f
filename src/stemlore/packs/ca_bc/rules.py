"""Law of British Columbia."""

from __future__ import annotations

from datetime import date

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
        id="ca_bc.vehicle.tread_accepted",
        title="The tread of all tyres meets the minimum of the province",
        subject="vehicle",
        # the figure was not read: without this a bald tyre would leave with nothing said
        check=field("own.ca_bc.tread_accepted"),
        unseen_before=date(2023, 11, 27),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("bc-division-7", "its section on tread, which was not read"),
        advice="Hold the tread against the inspection standard of the province, and renew what is below it.",
    ),
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
