"""Law of Taiwan."""

from __future__ import annotations

from datetime import date

from stemlore.rules import Cite, Rule, field, first_known, parameter

BAR = field("tyre.tread_depth_at_wear_bar") > parameter("tw.tread.at_bar")
# where nobody measured at the bar, deep grooves settle it; shallow ones do not
NOT_AT_BAR = first_known(
    BAR, (field("tyre.tread_depth_main_grooves") > parameter("tw.tread.bar_clear")) | BAR
)

# of four-wheelers grooves shallower than the bars are high settle it too
NOT_AT_BAR_FOUR = first_known(
    BAR,
    ~(field("tyre.tread_depth_main_grooves") < parameter("tw.tread.bar_reached"))
    & ((field("tyre.tread_depth_main_grooves") > parameter("tw.tread.bar_clear")) | BAR),
)

CATEGORY = field("vehicle.category")
FOUR_WHEELS = CATEGORY.one_of("M1", "M2", "M3", "N1", "N2", "N3")
SINGLE_WHEELS = CATEGORY.one_of("M1", "N1") & ~field("vehicle.twin_wheels")
MONITORED = field("vehicle.monitoring").differs("none")

RULES = [
    Rule(
        id="tw.tyre.wear_bar",
        title="The tread is not worn to a wear bar",
        subject="position",
        when=FOUR_WHEELS,
        check=NOT_AT_BAR_FOUR,
        tie="used_in",
        basis="law",
        gravity="hold",
        cite=Cite("tw-inspection", "whole page; on freeways Art. 14(1)(3) of their rules says the same"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="tw.tyre.wear_bar_motorcycle",
        title="The tread of a motorcycle is not worn to a wear bar",
        subject="position",
        when=CATEGORY.equals("L"),
        check=NOT_AT_BAR,
        starts=date(2016, 7, 1),
        tie="used_in",
        basis="law",
        gravity="remedy",
        cite=Cite("tw-inspection-2016", "on Art. 39-2"),
        advice="Renew the tyre.",
    ),
    Rule(
        id="tw.tyre.tread_depth_expressway",
        title="The tread of a large motorcycle suffices for freeways and expressways",
        subject="position",
        when=CATEGORY.equals("L") & ~field("vehicle.light_two_wheeler"),
        check=field("tyre.tread_depth_whole_tread") >= parameter("tw.tread.expressway_motorcycle"),
        tie="used_in",
        basis="law",
        gravity="advise",
        cite=Cite("tw-freeway", "Art. 14(1)(3)"),
        advice="Tell the driver to keep off freeways and expressways until the tyre is renewed.",
    ),
    Rule(
        id="tw.vehicle.monitoring_required",
        title="A car or light goods vehicle made since the duty began has tyre pressure monitoring",
        subject="vehicle",
        when=SINGLE_WHEELS & parameter("tw.monitoring.all_types"),
        check=MONITORED,
        tie="registered_in",
        basis="law",
        gravity="hold",
        cite=Cite("vstd-68", "1.1 to 1.3"),
        advice="Find out why it is missing.",
    ),
    Rule(
        id="tw.vehicle.monitoring_type",
        title="A car or light goods vehicle of a new type has tyre pressure monitoring",
        subject="vehicle",
        when=SINGLE_WHEELS & parameter("tw.monitoring.new_types") & ~parameter("tw.monitoring.all_types"),
        check=MONITORED,
        tie="registered_in",
        basis="law",
        gravity="advise",
        cite=Cite("vstd-68", "1.1 to 1.3"),
        advice="See whether that is the day of a new type: an extension of an older approval brings no duty.",
    ),
]
