"""The job sheet as a TOML file, units in its keys."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from pydantic import Field

from assistant.bench.bad_data import BadData, key_line, parse_toml, read_bytes, validate
from assistant.bench.refuse import ORDER, refusal
from assistant.bench.slots import Value
from assistant.bench.strict import Strict

if TYPE_CHECKING:
    from assistant.bench.catalogue import Catalogue

# Key in the file, slot of the sheet, SI = file value * factor + offset. Words pass as they are.
QUANTITIES: dict[str, tuple[str, float, float]] = {
    "belt_plies": ("belt_plies", 1, 0),
    "notch_pitch_mm": ("notch_pitch", 1e-3, 0),
    "belt_thickness_mm": ("belt_thickness", 1e-3, 0),
    "belt_width_mm": ("belt_width", 1e-3, 0),
    "elongation_percent": ("elongation", 1e-2, 0),
    "endless_length_mm": ("endless_length", 1e-3, 0),
    "supply_voltage_V": ("supply_voltage", 1, 0),
    "lead_length_m": ("lead_length", 1, 0),
    "lead_section_mm2": ("lead_section", 1e-6, 0),
    "shop_degC": ("shop_temperature", 1, 273.15),
}
YES_NO = ("lead_coiled", "new_pair")
KEY_OF = {slot: key for key, (slot, _, _) in QUANTITIES.items()}


class SheetFile(Strict):
    """Every key may be left out: what is missing is asked for."""

    schema_version: Literal[1]
    technician: str | None = None
    job_kind: Literal["shop", "conveyor"] | None = None
    belt: str | None = None
    belt_material: str | None = None
    belt_plies: int | None = Field(default=None, ge=0)
    belt_guide: Literal["none", "z", "a", "b"] | None = None
    notch_pitch_mm: float | None = Field(default=None, ge=0)
    belt_thickness_mm: float | None = None
    belt_width_mm: float | None = None
    press: str | None = None
    punch: str | None = None
    template: str | None = None
    cloth_above: str | None = None
    cloth_below: str | None = None
    elongation_percent: float | None = None
    endless_length_mm: float | None = None
    supply_voltage_V: float | None = None
    lead_length_m: float | None = None
    lead_section_mm2: float | None = None
    lead_coiled: bool | None = None
    shop_degC: float | None = None
    new_pair: bool | None = None


def read_sheet(path: Path, catalogue: Catalogue | None = None) -> dict[str, Value]:
    """The values of a job file by slot, SI inside; with `catalogue` also judged as if they were said.

    Raises: BadData, one sentence with file, line and key, for anything that cannot be used.
    """
    raw = read_bytes(path)
    sheet = validate(SheetFile, parse_toml(raw, path), raw, path)
    values: dict[str, Value] = {}
    for key, held in sheet.model_dump(exclude_none=True, exclude={"schema_version"}).items():
        if key in QUANTITIES:
            slot, factor, offset = QUANTITIES[key]
            values[slot] = float(held) * factor + offset
        elif key in YES_NO:
            values[key] = "yes" if held else "no"
        else:
            values[key] = held
    if catalogue is not None:
        for slot in sorted(values, key=ORDER.__getitem__):
            reason = refusal(slot, values[slot], values, catalogue)
            if reason is not None:
                key = KEY_OF.get(slot, slot)
                raise BadData(f"'{path}', line {key_line(raw, (key,))}, {key}: {reason}")
    return values


def write_sheet(values: Mapping[str, Value]) -> str:
    """The TOML text of a job sheet; `read_sheet` gives the same values back (to rounding).

    Raises: KeyError for a slot that the sheet does not have.
    """
    lines = ["schema_version = 1"]
    for slot in sorted(values, key=ORDER.__getitem__):
        held = values[slot]
        if slot in KEY_OF:
            _, factor, offset = QUANTITIES[KEY_OF[slot]]
            edge = float(f"{(float(held) - offset) / factor:.10g}")
            lines.append(f"{KEY_OF[slot]} = {int(edge) if slot == 'belt_plies' else edge!r}")
        elif slot in YES_NO:
            lines.append(f"{slot} = {'true' if held == 'yes' else 'false'}")
        else:
            lines.append(f"{slot} = {_quoted(str(held))}")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    plain = "".join(
        f"\\u{ord(char):04x}" if ord(char) < 0x20 or ord(char) == 0x7F else char
        for char in text.replace("\\", "\\\\").replace('"', '\\"')
    )
    return f'"{plain}"'
