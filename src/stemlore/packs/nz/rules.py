"""New Zealand law that needs a tree of its own."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, field, first_known, parameter, same

CATEGORY = field("vehicle.category")
LIGHT = CATEGORY.one_of("M1", "M2", "N1")
TOLD, SNOWFLAKE = field("own.nz.winter_tyre"), field("tyre.snowflake")
# where nobody told: without the snowflake it is taken for none, with it an all-season tyre may be meant
WINTER = first_known(TOLD, SNOWFLAKE & TOLD)
ALIKE = same(first_known(TOLD, SNOWFLAKE))

RULES = [
    Rule(
        id="nz.tyre.tread_depth_winter",
        title="Tread of a winter tyre is not below the minimum for winter tyres",
        subject="position",
        when=LIGHT,
        # deep tread asks nobody what kind of tyre it is
        check=(field("tyre.tread_depth_main_grooves") >= parameter("nz.tread.min_depth_winter")) | ~WINTER,
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("nz-32013-5", "amendment of clause 2.3"),
        advice="Renew the tyres, or fit others than winter tyres; an all-season tyre with snowflake is none.",
    ),
    Rule(
        id="nz.vehicle.winter_tyres",
        title="Winter tyres are on all wheels or on none",
        subject="vehicle",
        when=LIGHT,
        check=ALIKE | same(WINTER),
        starts=date(2010, 4, 1),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("nz-32013-5", "amendment of clause 2.3"),
        advice="Fit winter tyres to all wheels or to none.",
    ),
    Rule(
        id="nz.tyre.cut",
        title="No long cut of a motorcycle's tyre reaches the cords",
        subject="position",
        when=CATEGORY.equals("L"),
        check=~field("condition.cut_to_cord")
        | (field("condition.cut_length") <= parameter("nz.damage.cut_length")),
        tie="used_in",
        basis="standard",
        gravity="hold",
        cite=Cite("virm-motorcycles", "10-1 item 9(b)"),
        advice="Renew the tyre.",
    ),
]
