"""Places: ISO 3166 codes, and EU, UN and world."""

from __future__ import annotations

import re

from stemlore.errors import UnknownPlaceError

__all__ = ["COUNTRIES", "country_of", "place_code"]

# ISO 3166-1 alpha-2, officially assigned
COUNTRIES: frozenset[str] = frozenset(
    """
    AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ
    BR BS BT BV BW BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM
    DO DZ EC EE EG EH ER ES ET FI FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS
    GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN
    KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME MF MG MH MK ML MM MN MO MP MQ
    MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF PG PH PK PL PM
    PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV
    SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI
    VN VU WF WS YE YT ZA ZM ZW
    """.split()
)

# XA to XZ are user-assigned in ISO 3166-1: invented countries of examples and tests
_USER_ASSIGNED = frozenset(f"X{chr(letter)}" for letter in range(ord("A"), ord("Z") + 1))
_WIDER = {"EU": "EU", "UN": "UN", "WORLD": "world"}


def place_code(text: object) -> str:
    """Return a place's code in its canonical spelling.

    Raises
    ------
    UnknownPlaceError
        If it is not ISO 3166-1 alpha-2, ISO 3166-2, ``EU``, ``UN`` or ``world``.
    """
    advice = "an ISO 3166 code such as DE or US-CA, or EU, UN, world"
    if not isinstance(text, str):
        raise UnknownPlaceError(repr(text), advice=advice)
    code = text.strip().upper()
    if code in _WIDER:
        return _WIDER[code]
    country, _, below = code.partition("-")
    if country in COUNTRIES | _USER_ASSIGNED and ("-" not in code or re.fullmatch(r"[A-Z0-9]{1,3}", below)):
        return code
    if country == "UK":
        raise UnknownPlaceError(text, advice="the United Kingdom is GB in ISO 3166")
    raise UnknownPlaceError(text, sorted(COUNTRIES), advice="" if len(code) == 2 else advice)


def country_of(code: str) -> str:
    """Return the country of a subdivision; any other place itself."""
    return code.partition("-")[0] if code != "world" else code
