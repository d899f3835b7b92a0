"""Everything that stands on the bench: read from the packaged data and from the works' own folder."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from pydantic import BaseModel

from assistant.bench.bad_data import BadData, Model, key_line, parse_toml, read_bytes, validate
from assistant.bench.belt import Belt
from assistant.bench.lead import Lead
from assistant.bench.learned import LearnedPress, taught
from assistant.bench.material import Material
from assistant.bench.press import Press
from assistant.bench.template import Cloth, Punch, Template

PACKAGED = Path(__file__).parent / "data"
KINDS = ("materials", "belts", "presses", "templates", "punches", "cloths", "leads", "learned")


@dataclass(frozen=True)
class Catalogue:
    """All items by key. presses: with what past joints taught, where `learned` has something for them;
    planned: the same without.

    digests: per kind, the SHA-256 of its files' bytes in order of key. notes: what the works' own
    folder replaced or left unread, one sentence each.
    """

    materials: Mapping[str, Material]
    belts: Mapping[str, Belt]
    presses: Mapping[str, Press]
    templates: Mapping[str, Template]
    punches: Mapping[str, Punch]
    cloths: Mapping[str, Cloth]
    leads: Mapping[str, Lead]
    learned: Mapping[str, LearnedPress]
    planned: Mapping[str, Press]
    digests: Mapping[str, str]
    notes: tuple[str, ...] = ()


def load_catalogue(folder: Path | None = None, *, planning: bool = False) -> Catalogue:
    """The packaged items, with those of `folder` added or, under the same key, put in their place.

    `folder` has the same shape: a folder for each of `KINDS`, one item a TOML file. Raises: BadData, one sentence, for the first file that cannot be used.

    planning: the presses with their planning values, whatever was learned.
    """
    notes: list[str] = []
    if folder is not None:
        notes += _look_over(folder)
    digests: dict[str, str] = {}
    files: dict[tuple[str, str], tuple[Path, bytes]] = {}  # by kind and key

    def kind(name: str, model: type[Model]) -> Mapping[str, Model]:
        items: dict[str, Model] = {}
        bytes_of: dict[str, bytes] = {}
        for own in (False, True):
            root = folder if own else PACKAGED
            if root is None:
                continue
            seen: dict[str, Path] = {}
            for path, raw, item in _items(root / name, model):
                key: str = item.key  # type: ignore[attr-defined]  # every kind has one
                if key in seen:
                    raise BadData(
                        f"'{path}' has the key '{key}' that '{seen[key]}' has already; rename one of them."
                    )
                seen[key] = path
                if own and key in items:
                    notes.append(f"'{path}' takes the place of the packaged '{key}' in {name}.")
                items[key], bytes_of[key] = item, raw
                files[name, key] = path, raw
        whole = hashlib.sha256()
        for key in sorted(bytes_of):
            whole.update(len(bytes_of[key]).to_bytes(8, "big") + bytes_of[key])
        digests[name] = whole.hexdigest()
        return MappingProxyType({key: items[key] for key in sorted(items)})

    learned, presses = kind("learned", LearnedPress), kind("presses", Press)
    for key in learned:
        if key not in presses:
            notes.append(f"Learned constants for '{key}' are left aside: there is no such press.")
        elif not planning:
            notes.append(f"{presses[key].name}: {learned[key].words}")
    catalogue = Catalogue(
        materials=kind("materials", Material),
        belts=kind("belts", Belt),
        presses=presses if planning else _taught(presses, learned),
        templates=kind("templates", Template),
        punches=kind("punches", Punch),
        cloths=kind("cloths", Cloth),
        leads=kind("leads", Lead),
        learned=learned,
        planned=presses,
        digests=MappingProxyType(digests),
        notes=tuple(notes),
    )
    _check_references(catalogue, files)
    return catalogue


def with_learned(catalogue: Catalogue, learned: Mapping[str, LearnedPress]) -> Catalogue:
    """The catalogue as it was when this, by key of the press, was what past joints had taught."""
    return replace(catalogue, learned=learned, presses=_taught(catalogue.planned, learned))


def _taught(presses: Mapping[str, Press], learned: Mapping[str, LearnedPress]) -> Mapping[str, Press]:
    return MappingProxyType(
        {key: taught(one, learned[key]) if key in learned else one for key, one in presses.items()}
    )


MODELS: Mapping[str, type[BaseModel]] = MappingProxyType(
    {
        "materials": Material, "belts": Belt, "presses": Press, "templates": Template, "punches": Punch,
        "cloths": Cloth, "leads": Lead, "learned": LearnedPress,
    }
)  # fmt: skip


def faults(folder: Path) -> tuple[str, ...]:
    """Everything that is wrong with a works' own folder, one sentence each; none when it can be used."""
    try:
        _look_over(folder)
    except BadData as bad:
        return (str(bad),)
    told: list[str] = []
    for name, model in MODELS.items():
        for path in sorted((folder / name).glob("*.toml")):
            try:
                raw = read_bytes(path)
                validate(model, parse_toml(raw, path), raw, path)
            except BadData as bad:
                told += bad.each
    if not told:
        try:
            load_catalogue(folder)
        except BadData as bad:
            told.append(str(bad))
    return tuple(told)


def ohm_per_km(catalogue: Catalogue) -> dict[float, float]:
    """Resistance of one core at 20 degC by section in mm2; of two leads of one section the worse."""
    table: dict[float, float] = {}
    for lead in catalogue.leads.values():
        table[lead.section_mm2] = max(lead.ohm_per_km, table.get(lead.section_mm2, 0.0))
    return table


def weldable(material: Material) -> bool:
    """Whether a belt can be made of it: it fuses, and what it bears is known."""
    return material.fusion_degC is not None and material.damage_degC is not None


def _items(folder: Path, model: type[Model]) -> Iterator[tuple[Path, bytes, Model]]:
    if not folder.is_dir():
        return
    for path in sorted(folder.glob("*.toml")):
        raw = read_bytes(path)
        yield path, raw, validate(model, parse_toml(raw, path), raw, path)


def _look_over(folder: Path) -> list[str]:
    if not folder.exists():
        raise BadData(f"There is no folder '{folder}'; check the name.")
    if not folder.is_dir():
        raise BadData(f"'{folder}' is a file; name a folder that holds {', '.join(KINDS)}.")
    try:
        names = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        raise BadData(
            f"The folder '{folder}' cannot be read ({error.strerror}); check its permissions."
        ) from None
    if not set(names) & set(KINDS):
        raise BadData(
            f"The folder '{folder}' holds none of {', '.join(KINDS)}; make one of them and put TOML files in it."
        )
    return [
        f"'{folder / name}' is not read: only {', '.join(KINDS)} are." for name in names if name not in KINDS
    ]


def _check_references(catalogue: Catalogue, files: Mapping[tuple[str, str], tuple[Path, bytes]]) -> None:
    """Raises: BadData for the first item that names a material which is not there or can't be welded."""

    def known(kind: str, owner: str, location: tuple[int | str, ...], key: str) -> Material:
        if key not in catalogue.materials:
            raise BadData(
                f"{where(kind, owner, location)}: there is no material '{key}'; add its file or correct the name."
            )
        return catalogue.materials[key]

    def where(kind: str, owner: str, location: tuple[int | str, ...]) -> str:
        path, raw = files[kind, owner]
        line = key_line(raw, location)
        return (
            f"'{path}'" + (f", line {line}" if line else "") + f", {'.'.join(str(part) for part in location)}"
        )

    for belt in catalogue.belts.values():
        named: list[tuple[tuple[int | str, ...], str]] = [
            (("layers", n, "material"), layer.material) for n, layer in enumerate(belt.layers)
        ]
        if belt.guide:
            named.append((("guide", "material"), belt.guide.material))
        for location, key in named:
            if not weldable(known("belts", belt.key, location, key)):
                raise BadData(
                    f"{where('belts', belt.key, location)}: the material '{key}' has no fusion and damage "
                    "temperature; add them from the supplier's data sheet or name another material."
                )
    for template in catalogue.templates.values():
        known("templates", template.key, ("material",), template.material)
        known("templates", template.key, ("plate_material",), template.plate_material)
    for cloth in catalogue.cloths.values():
        known("cloths", cloth.key, ("material",), cloth.material)
