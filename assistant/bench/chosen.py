"""What the values given so far choose from the bench: the belt as measured, the tools, the proposals."""

from __future__ import annotations

from assistant.bench.belt import Belt, BeltLayer, DataSheet, Guide
from assistant.bench.catalogue import Catalogue
from assistant.bench.slots import GUIDES, OTHER, Value, Values


def number(values: Values, slot: str) -> float | None:
    """The slot's SI value, None while it is not given."""
    value = values.get(slot)
    return value if isinstance(value, int | float) else None


def listed_belt(values: Values, catalogue: Catalogue) -> Belt | None:
    """The belt as its data give it; None for a belt that is not listed."""
    return catalogue.belts.get(str(values.get("belt")))


def belt(values: Values, catalogue: Catalogue) -> Belt | None:
    """The belt with thickness and width as measured, once it is known; its plies keep their thickness."""
    listed = listed_belt(values, catalogue)
    thickness, width = number(values, "belt_thickness"), number(values, "belt_width")
    if listed is None:
        listed = _unlisted(values, catalogue)
        if listed is None:
            return None
    if width is not None:
        listed = listed.model_copy(update={"width_mm": width * 1e3})
    if thickness is not None:
        listed = scaled(listed, thickness * 1e3, catalogue)
    return listed


def scaled(given: Belt, thickness_mm: float, catalogue: Catalogue) -> Belt:
    """`given` with the covers and adhesive layers scaled so that the whole is `thickness_mm` thick.

    A belt whose plies alone are thicker is scaled as a whole (`refuse` has turned it away before).
    """
    plies = sum(layer.thickness_mm for layer in given.layers if catalogue.materials[layer.material].fabric)
    rest = given.thickness_mm - plies
    whole = rest <= 0 or thickness_mm <= plies
    factor = thickness_mm / given.thickness_mm if whole else (thickness_mm - plies) / rest
    layers = tuple(
        layer
        if catalogue.materials[layer.material].fabric and not whole
        else BeltLayer(material=layer.material, thickness_mm=layer.thickness_mm * factor)
        for layer in given.layers
    )
    return given.model_copy(update={"layers": layers})


def elongation_range(values: Values, catalogue: Catalogue) -> tuple[float, float]:
    """Smallest and largest elongation of the belt, ratios; the model's usual ones for an unlisted belt."""
    listed = listed_belt(values, catalogue)
    sheet = listed.sheet if listed else DataSheet()
    return sheet.elongation_min_percent / 100, sheet.elongation_max_percent / 100


def proposal(slot: str, values: Values, catalogue: Catalogue) -> tuple[Value, str] | None:
    """The value to expect for a slot and where it comes from, in words; None when nothing is known."""
    listed = listed_belt(values, catalogue)
    press = catalogue.presses.get(str(values.get("press")))
    match slot:
        case "belt_thickness" if listed:
            return round(listed.thickness_mm / 1e3, 9), f"the data of the {listed.name}"
        case "belt_width" if listed:
            return listed.width_mm / 1e3, f"the data of the {listed.name}"
        case "cloth_above" | "cloth_below" if "silicone" in catalogue.cloths:
            return "silicone", "the ordinary release cloth"
        case "elongation":
            low, high = elongation_range(values, catalogue)
            where = f"the data of the {listed.name}" if listed else "the usual range"
            return round(
                (low + high) / 2, 9
            ), f"the middle of {low * 100:g} to {high * 100:g} %, from {where}"
        case "supply_voltage" if press:
            return press.voltage_V, f"the plate of the {press.name}"
        case "lead_coiled":
            return "no", "a step asks for it to be unrolled"
    return None


def _unlisted(values: Values, catalogue: Catalogue) -> Belt | None:
    """An unlisted belt: covers, plies and adhesive layers all of one thickness (judgement)."""
    material, plies = values.get("belt_material"), number(values, "belt_plies")
    thickness, width = number(values, "belt_thickness"), number(values, "belt_width")
    section = values.get("belt_guide")
    if values.get("belt") != OTHER or material not in catalogue.materials or plies is None:
        return None
    if not thickness or not width or section is None:
        return None
    pitch = number(values, "notch_pitch") or 0.0
    fabric = f"ply_{material}"
    each = thickness * 1e3 / (2 * plies + 1)
    names = [fabric if index % 2 else str(material) for index in range(int(2 * plies + 1))]
    guide = None
    if section in GUIDES:
        wide, high = GUIDES[str(section)]
        guide = Guide(
            material=str(material),
            width_mm=wide,
            height_mm=high,
            notch_pitch_mm=pitch * 1e3 if pitch else None,
        )
    return Belt(
        key=OTHER,
        name="unlisted belt",
        layers=tuple(BeltLayer(material=name, thickness_mm=each) for name in names),
        width_mm=width * 1e3,
        guide=guide,
        source="as told at the bench, without a data sheet; layers of equal thickness (judgement)",
    )
