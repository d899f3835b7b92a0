"""Whether belt, press, punch, template and cloth go together; each function returns its reasons, none when they do.

Margins are common practice, no published source: edge bars 0.1 to 0.2 mm lower than the belt (0.05 to
0.3 pass), a channel up to 1 mm wider, the pressure plate 30 mm beyond the fingers, never under 10.
"""

from __future__ import annotations

from assistant.bench.belt import Belt
from assistant.bench.catalogue import Catalogue
from assistant.bench.press import Press
from assistant.bench.template import Cloth, Punch, Template
from assistant.recipe.fingers import LEAST_MARGIN_M, MARGIN_M, fingers
from assistant.recipe.not_computable import NotComputable

BAR_LOWER_MM = (0.05, 0.30)
CHANNEL_WIDER_MM = 1.0
GROOVE_WIDER_MM = 1.0
GROOVE_DEEPER_MM = 0.3
PITCH_MM = 0.1
BAR_ROOM_MM = 5.0  # of platen beside the belt, each way, for the edge bars
ROUNDING_MM = 1e-6
CLOTH_SPARE_K = 20.0


def widest_belt_mm(press: Press) -> float:
    """The widest belt that leaves room for the edge bars."""
    return press.platen_width_mm - 2 * BAR_ROOM_MM


def press_misfits(press: Press, belt_width_mm: float) -> list[str]:
    """Why a belt so wide [mm] cannot be joined on the press, one sentence each; none if it can."""
    widest = widest_belt_mm(press)
    if belt_width_mm > widest + ROUNDING_MM:
        return [
            f"The {press.name} takes belts up to {widest:g} mm wide, and this one has {belt_width_mm:g} mm."
        ]
    return []


def punch_misfits(punch: Punch, belt: Belt, press: Press) -> list[str]:
    """Belt too wide or too narrow for the punch, fingers too long for the platens."""
    reasons: list[str] = []
    if belt.width_mm > punch.width_mm + ROUNDING_MM:
        reasons.append(
            f"The {punch.name} cuts belts up to {punch.width_mm:g} mm wide, and this one has {belt.width_mm:g} mm."
        )
    try:
        fingers(punch.pitch_mm / 1e3, punch.length_mm / 1e3, belt.width_mm / 1e3, belt.thickness_mm / 1e3)
    except NotComputable as refused:
        reasons.append(str(refused))
    needed = punch.length_mm + 2 * MARGIN_M * 1e3
    if needed > press.platen_length_mm + ROUNDING_MM:
        reasons.append(
            f"Fingers of {punch.length_mm:g} mm need {needed:g} mm of heated length, and the platens of the "
            f"{press.name} are {press.platen_length_mm:g} mm long: choose a punch with shorter fingers."
        )
    return reasons


def template_misfits(template: Template, belt: Belt, punch: Punch, press: Press) -> list[str]:
    """Channel, edge bars, groove and teeth against the belt; pressure plate against fingers and platens."""
    name = template.name
    reasons = _channel(template, belt) + _groove(template, belt)
    least = punch.length_mm + 2 * LEAST_MARGIN_M * 1e3
    if template.plate_length_mm < least - ROUNDING_MM:
        reasons.append(
            f"The pressure plate of the {name} is {template.plate_length_mm:g} mm long and must be {least:g} mm at "
            f"least: fingers of {punch.length_mm:g} mm and {LEAST_MARGIN_M * 1e3:g} mm beyond them each way."
        )
    if template.plate_length_mm > press.platen_length_mm + ROUNDING_MM:
        reasons.append(
            f"The pressure plate of the {name} is {template.plate_length_mm:g} mm long, longer than the platens of the "
            f"{press.name} with {press.platen_length_mm:g} mm."
        )
    under_mm = (template.groove_depth_mm or 0.0) + template.floor_mm
    thick_mm = under_mm + belt.thickness_mm + template.plate_mm
    if press.opening_mm is not None and thick_mm > press.opening_mm + ROUNDING_MM:
        reasons.append(
            f"The {name} with belt and plate is {thick_mm:.1f} mm thick without cloths, and the {press.name} closes on "
            f"{press.opening_mm:g} mm at most."
        )
    if template.channel_width_mm > press.platen_width_mm + ROUNDING_MM:
        reasons.append(
            f"The {name} is made for belts of {template.channel_width_mm:g} mm, wider than the platens of the {press.name}."
        )
    return reasons


def cloth_misfits(cloth: Cloth, belt: Belt, catalogue: Catalogue) -> list[str]:
    """Why a release cloth cannot be used with the belt, one sentence each; none if it can."""
    bears = catalogue.materials[cloth.material].damage_degC
    fuses = max(catalogue.materials[layer.material].fusion_degC or 0.0 for layer in belt.layers)
    if bears is None:
        return [f"What heat the {cloth.name} bears is not known: take another cloth."]
    if bears < fuses + CLOTH_SPARE_K:
        return [
            f"The {cloth.name} bears {bears:g} °C, and the belt fuses only at {fuses:g} °C: take another cloth."
        ]
    return []


def notes(template: Template, belt: Belt, punch: Punch) -> list[str]:
    """What fits but should be known: a short margin, weak part-fingers at the edges."""
    told: list[str] = []
    margin = (template.plate_length_mm - punch.length_mm) / 2
    if margin < MARGIN_M * 1e3 - ROUNDING_MM:
        told.append(
            f"The plate reaches only {margin:g} mm beyond the fingers each way, not {MARGIN_M * 1e3:g}: centre it well."
        )
    joint = fingers(punch.pitch_mm / 1e3, punch.length_mm / 1e3, belt.width_mm / 1e3, belt.thickness_mm / 1e3)
    return told + list(joint.notes)


def fitting_templates(belt: Belt, punch: Punch, press: Press, catalogue: Catalogue) -> list[Template]:
    """The templates on the bench that go with belt, punch and press, in order of key."""
    return [one for one in catalogue.templates.values() if not template_misfits(one, belt, punch, press)]


def _channel(template: Template, belt: Belt) -> list[str]:
    reasons: list[str] = []
    name, spare = template.name, template.channel_width_mm - belt.width_mm
    if spare < -ROUNDING_MM:
        reasons.append(
            f"The channel of the {name} is {template.channel_width_mm:g} mm wide and the belt {belt.width_mm:g} mm: "
            "the belt does not go in."
        )
    elif spare > CHANNEL_WIDER_MM + ROUNDING_MM:
        reasons.append(
            f"The channel of the {name} is {template.channel_width_mm:g} mm wide and the belt only {belt.width_mm:g} mm: "
            "the melt would flow out sideways."
        )
    lower = belt.thickness_mm - template.channel_depth_mm
    least, most = BAR_LOWER_MM
    if lower < least - ROUNDING_MM:
        reasons.append(
            f"The edge bars of the {name} are {template.channel_depth_mm:g} mm high and the belt is "
            f"{belt.thickness_mm:.4g} mm thick: the plate would rest on metal and the belt see no pressure."
        )
    elif lower > most + ROUNDING_MM:
        reasons.append(
            f"The edge bars of the {name} are {template.channel_depth_mm:g} mm high, too low for a belt of "
            f"{belt.thickness_mm:.4g} mm: the edges would be squeezed out."
        )
    return reasons


def _groove(template: Template, belt: Belt) -> list[str]:
    name, guide = template.name, belt.guide
    wide, deep, teeth = template.groove_width_mm, template.groove_depth_mm, template.tooth_pitch_mm
    if guide is None:
        return [f"The {name} has a groove and the belt no guide: it would lie hollow there."] if wide else []
    if wide is None or deep is None:
        return [f"The {name} has no groove for the guide of {guide.width_mm:g} by {guide.height_mm:g} mm."]
    reasons: list[str] = []
    if wide < guide.width_mm - ROUNDING_MM:
        reasons.append(
            f"The groove of the {name} is {wide:g} mm wide, too narrow for a guide of {guide.width_mm:g} mm."
        )
    elif wide > guide.width_mm + GROOVE_WIDER_MM + ROUNDING_MM:
        reasons.append(
            f"The groove of the {name} is {wide:g} mm wide, too wide for a guide of {guide.width_mm:g} mm."
        )
    if deep < guide.height_mm - ROUNDING_MM:
        reasons.append(
            f"The groove of the {name} is {deep:g} mm deep and the guide {guide.height_mm:g} mm high: it would lift the belt."
        )
    elif deep > guide.height_mm + GROOVE_DEEPER_MM + ROUNDING_MM:
        reasons.append(
            f"The groove of the {name} is {deep:g} mm deep and the guide only {guide.height_mm:g} mm high: "
            "it would hang unsupported."
        )
    pitch = guide.notch_pitch_mm
    if pitch is None and teeth is not None:
        reasons.append(f"The {name} has teeth and the guide no notches.")
    elif pitch is not None and teeth is None:
        reasons.append(f"The {name} has no teeth to keep the notch pitch of {pitch:g} mm.")
    elif pitch is not None and teeth is not None and abs(pitch - teeth) > PITCH_MM + ROUNDING_MM:
        reasons.append(
            f"The teeth of the {name} stand every {teeth:g} mm and the notches every {pitch:g} mm."
        )
    return reasons
