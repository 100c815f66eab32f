"""Words of the trade in several languages: headers of tables, and wheels by front and rear."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["ALIASES", "plain_words", "wheel_meant"]

_HEADERS: Mapping[str, str] = {
    "vehicle_id": """vehicle, vin, plate, registration, registration number, reg, reg no, fleet no,
        fleet number, unit number, licence plate, license plate, number plate, vehicle number,
        kennzeichen, amtliches kennzeichen, fin, fahrgestellnummer, fahrgestellnr, fahrzeug, fahrzeugnummer,
        immatriculation, plaque, plaque d immatriculation, véhicule, numéro de châssis,
        matrícula, placa, bastidor, número de bastidor, vehículo, targa, telaio, kenteken""",
    "position": """pos, position, wheel position, tyre position, tire position, radposition, reifenposition,
        achse/position, position du pneu, posición, posición del neumático, posizione, positie""",
    "axle_number": "axle, axle no, axle number, achse, achsnummer, essieu, eje, asse, as",
    "vehicle_axle_count": """axle count, axles, number of axles, achsen, achszahl, anzahl achsen,
        nombre d essieux, número de ejes""",
    "side": "side, seite, côté, lado, lato",
    "tyre.tread_depth_main_grooves": """tread, tread depth, tyre tread, remaining tread, depth,
        profiltiefe, restprofil, restprofiltiefe, profil, profondeur, profondeur de sculpture,
        profondeur des sculptures, gomme restante, profundidad, profundidad del dibujo,
        profundidad de dibujo, battistrada, profieldiepte""",
    "tyre.pressure": """pressure, tyre pressure, tire pressure, measured pressure, luftdruck, reifendruck,
        reifenluftdruck, druck, pression, pression du pneu, pression des pneus, presión,
        presión de inflado, presión del neumático, pressione, bandenspanning""",
    "tyre.size": """tyre, tire, size, tyre size, tire size, dimension, reifengröße, reifengrösse,
        reifengroesse, reifendimension, bereifung, reifen, dimension du pneu, taille du pneu, dimensions,
        medida, medida del neumático, neumático, misura, bandenmaat""",
    "tyre.identification_number": """dot, dot code, dot number, dot nummer, date code, tin,
        code dot, código dot""",
    "vehicle.category": """category, vehicle category, class, vehicle class, fahrzeugklasse, fahrzeugart,
        eg fahrzeugklasse, catégorie, genre, categoría""",
    "vehicle.gross_mass": """gross mass, gross weight, gross vehicle weight, gvw, gvm, gvwr, mam,
        zul gesamtmasse, zulässige gesamtmasse, zul gesamtgewicht, zulässiges gesamtgewicht, zgg,
        gesamtmasse, ptac, masa máxima, mma""",
    "vehicle.design_speed": """design speed, maximum speed, top speed, höchstgeschwindigkeit,
        bauartgeschwindigkeit, vitesse maximale, velocidad máxima""",
    "axle.permitted_mass": """permitted axle mass, axle load, permitted axle load, achslast, zul achslast,
        zulässige achslast, charge à l essieu, masa máxima por eje""",
    "tyre.load_index": "load index, tragfähigkeitsindex, lastindex, indice de charge, índice de carga",
    "tyre.speed_symbol": """speed index, speed symbol, speed rating, geschwindigkeitsindex,
        indice de vitesse, índice de velocidad, código de velocidad""",
    "vehicle.first_registration": """first registration, first registered, date of first registration,
        erstzulassung, ez, première immatriculation, date de première immatriculation,
        primera matriculación, fecha de primera matriculación""",
    "event.on": """date of visit, visit, inspection date, date of inspection, prüfdatum, messdatum,
        besuchsdatum, date de visite, date du contrôle, fecha de visita, fecha de inspección""",
}  # fmt: skip


def plain_words(text: str) -> str:
    """Return the words of a header in small letters, a space between; letters keep their marks."""
    parted = re.sub(r"(?<=[a-zß-ÿ])(?=[A-ZÀ-Þ])", " ", text)
    return re.sub(r"[^\w/]+|_", " ", parted.lower()).strip()


ALIASES: Mapping[str, str] = MappingProxyType(
    {" ".join(word.split()): to for to, words in _HEADERS.items() for word in words.split(",")}
)
"""What a header means in tables of the trade; for a proposal that somebody looks through."""

_ENDS = {
    "1": "front, vorne, vorn, avant, av, delantero, delantera, anteriore, voor",
    "2": "rear, back, hinten, arrière, ar, trasero, trasera, posteriore, achter",
}
_SIDES = {
    "left": "left, links, gauche, izquierdo, izquierda, sinistro, sinistra",
    "right": "right, rechts, droit, droite, derecho, derecha, destro, destra",
}
_PLACES = {
    "": "",
    " outer": "outer, außen, aussen, extérieur, exterior",
    " inner": "inner, innen, intérieur, interior",
}
_SHORT = {
    "axle 1 left": "fl, lf, vl, avg, di",
    "axle 1 right": "fr, rf, vr, avd, dd",
    "axle 2 left": "rl, lr, hl, arg, ti",
    "axle 2 right": "rr, hr, ard, td",
    "axle 2 left outer": "rlo, hla",
    "axle 2 left inner": "rli, hli",
    "axle 2 right outer": "rro, hra",
    "axle 2 right inner": "rri, hri",
    "spare": "spare wheel, reserve, reserverad, ersatz, ersatzrad, roue de secours, repuesto",
}


def _list(words: str) -> list[str]:
    return [word.strip() for word in words.split(",")]


def _meanings() -> Mapping[str, str]:
    out = {word: to for to, words in _SHORT.items() for word in _list(words)}
    for axle, ends in _ENDS.items():
        for side, sides in _SIDES.items():
            for place, places in _PLACES.items():
                for end in _list(ends):
                    for which in _list(sides):
                        for where in _list(places):
                            meant = f"axle {axle} {side}{place}"
                            out[f"{end} {which} {where}".strip()] = meant
                            out[f"{which} {end} {where}".strip()] = meant
    return MappingProxyType(out)


_WHEELS = _meanings()


def wheel_meant(text: str) -> str | None:
    """Return the wheel that a word means on a vehicle of two axles, where it is one of the trade."""
    return _WHEELS.get(plain_words(text.upper() if len(text) <= 3 else text))
