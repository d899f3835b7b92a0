"""Holds a works' own procedure to the packaged one: it may add plain steps and words, and take no safety away.

`mandatory` sees kinds, hazards and gates; it cannot see that the step 'plug_out' says 'Have a coffee'.
So what the gates rest on keeps the packaged words and order, and what a works writes itself speaks of
nothing that can hurt: a step that does belongs into the packaged procedure, behind its gate.
"""

from __future__ import annotations

import re
import unicodedata

from assistant.procedure.model import Act, Gate, Procedure, Stage, Stage_id

NEEDED_STEPS = frozenset((
    "isolate_conveyor", "try_start", "block_runback", "takeup_off", "workplace", "earth_leakage", "layup_check",
    "fasten", "air_hose", "water_hoses", "controller_on", "hands_clear", "cooling_water", "cooling_air", "cooling_fan",
    "cooling_none", "supply_may_go", "controller_off", "water_off", "plug_out", "leads_off", "inner_off", "air_off",
    "lay_flat", "flex", "tools_out", "guards_on", "track",
))  # fmt: skip
"""Plain steps without a hazard of their own that a later gate, reading or person relies on."""

CLOSED_STAGES = ("close", "set", "run", "release", "isolate", "unfasten")
"""No list of words can tell every way of opening a press too early: here a works adds nothing."""

_STEMS = (
    "open", "reopen", "vent(?!ilat)", "releas(?!e cloth)", "let\\b", "lets\\b", "letting", "dump", "bleed", "bled\\b", "blow", "deflat",
    "exhaust", "drain", "depressur", "decompress", "unload", "reliev", "empty", "emptie", "discharg", "purg", "unfasten", "fasten",
    "undo", "unbolt", "bolt", "unlatch", "latch", "unlock", "lock", "unscrew", "screw", "unplug", "plug", "unclamp", "unhook", "unclip",
    "loose", "slack", "remov", "dismantl", "apart", "detach", "separat", "prise", "pry\\b", "lever", "wedge", "nuts?\\b", "pins?\\b",
    "off\\b", "out\\b", "lift", "hoist", "swing", "rais", "heav", "heat", "warm", "hot(?!el)", "burn", "flame", "torch", "solvent",
    "thinner", "spirit", "acetone", "petrol", "cleaner", "gas(?!ket)", "switch", "button", "turn", "power", "energi[sz]", "voltage",
    "mains", "connect", "disconnect", "reconnect", "wire", "wiring", "cable", "leads?\\b", "cut", "punch", "trim", "slit", "skiv",
    "saw\\b", "blade", "knife", "knives", "scissor", "shear", "bars?\\b", "psi\\b", "pressur", "air\\b", "compressor", "valve",
    "regulator", "hose", "bags?\\b", "bladder", "pump", "inflat", "start", "restart", "run\\b", "runs\\b", "running", "jog", "move",
    "moving", "motor", "tension", "take up", "guard", "platen", "half\\b", "halves", "controller", "temperatur", "degree", "cold", "cool",
    "reach", "inside", "between", "bare\\b", "skip", "ignor", "bypass", "by pass", "overrid", "defeat", "bridg", "jumper", "disabl",
    "deactivat", "need not", "no need", "not need", "never mind", "instead", "without", "unless", "anyway",
)  # fmt: skip
"""Beginnings of words that open, empty, heat, cut, lift or start something, or talk a question down."""

_HAZARDOUS = re.compile(r"\b(?:" + "|".join(_STEMS) + r")\w*")

_ACCENTS = re.compile(r"[\u0300-\u036f]")


def strayed(own: Procedure, packaged: Procedure) -> list[str]:
    """What the works' procedure changes that it may not, a sentence each; empty when it may be used.

    Both must have all stages in order, as `mandatory.check` sees to.
    """
    wrong = []
    stock = {gate.id: gate for gate in packaged.gates}
    for gate in own.gates:
        wrong += _changed_gate(gate, stock[gate.id])
    for ours, theirs in zip(own.stages, packaged.stages, strict=True):
        wrong += _changed_stage(ours, theirs)
    return wrong


def _changed_gate(own: Gate, packaged: Gate) -> list[str]:
    name = f"gate '{own.id.replace('_', ' ')}'"
    if own.hazard != packaged.hazard:
        return [f"{name}: its hazard must stay '{packaged.hazard}'."]
    missing = [caution for caution in packaged.cautions if caution not in own.cautions]
    if missing:
        return [f"{name}: its caution '{missing[0]}' is left out; only add to the cautions."]
    return _hazardous(name, [caution for caution in own.cautions if caution not in packaged.cautions])


def _changed_stage(own: Stage, packaged: Stage) -> list[str]:
    wrong = []
    if own.title != packaged.title:
        wrong += _hazardous(f"stage '{own.id}'", [own.title])
    stock = {act.id: act for act in packaged.acts}
    needed = [act for act in packaged.acts if _is_needed(act)]
    kept = [act.id for act in own.acts if act.id in stock and _is_needed(stock[act.id])]
    for act in needed:
        if act.id not in kept:
            wrong.append(f"act '{act.id}' is missing in stage '{own.id}'; put it back as it was.")
    for now, before in zip(kept, [act.id for act in needed if act.id in kept], strict=False):
        if now != before:
            wrong.append(f"act '{before}' must stand before act '{now}' in stage '{own.id}'; it does not.")
            break
    for act in own.acts:
        if act.id in kept:
            wrong += _changed_needed(act, stock[act.id])
        elif act != stock.get(act.id):
            wrong += _changed_plain(act, own.id)
    return wrong


def _is_needed(act: Act) -> bool:
    """All but plain steps: those alone may be dropped, moved and reworded."""
    return act.kind != "step" or bool(act.hazards or act.marks) or act.id in NEEDED_STEPS


def _changed_needed(own: Act, packaged: Act) -> list[str]:
    name = f"act '{own.id}'"
    added = []
    for field, before in packaged:
        now = getattr(own, field)
        if field in ("how", "why"):
            if not now.startswith(before):
                return [f"{name}: its '{field}' must still begin with '{before}'; only add to it."]
            added.append(now.removeprefix(before))
        elif field == "cautions":
            if not set(before) <= set(now):
                return [f"{name}: a caution is left out; only add to the cautions."]
            added += [caution for caution in now if caution not in before]
        elif now != before:
            return [f"{name}: its '{field}' must stay as it was in the packaged procedure."]
    return _hazardous(name, added)


def _changed_plain(act: Act, stage: Stage_id) -> list[str]:
    name = f"act '{act.id}'"
    if stage in CLOSED_STAGES:
        return [
            f"{name} is added to or reworded in the stage '{stage}', where the press is closed, hot or under pressure; "
            "put it before 'close' or after 'unfasten'."
        ]
    if act.kind != "step":
        return [f"{name} is a {act.kind}; a works can add plain steps only."]
    if act.hazards or act.marks or act.gate or act.slot or act.topic or act.timer:
        return [f"{name} is more than a plain step; a works can add plain steps only, with words and 'when'."]
    return _hazardous(name, [act.title, act.say, act.how, act.why, *act.cautions])


def _hazardous(name: str, texts: list[str]) -> list[str]:
    for text in texts:
        plain = _ACCENTS.sub("", unicodedata.normalize("NFKD", text)).casefold()
        strange = re.search(r"[^\n\x20-\x7e°‘’“”–—]", plain)
        if strange is not None:
            return [f"{name} has the sign {strange[0]!r} in '{text}'; write it in plain letters."]
        found = _HAZARDOUS.search(re.sub(r"[^a-z]+", " ", plain))
        if found is not None:
            return [
                f"{name} says '{found[0]}' in '{text}'; a works' own words cannot speak of what the gates guard: leave it to the packaged acts."
            ]
    return []
