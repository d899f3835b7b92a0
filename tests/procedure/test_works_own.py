"""A works adds plain steps and words of its own; it changes nothing that a gate rests on."""

from __future__ import annotations

from typing import Any

import edited_procedure as edited
import pytest

from assistant.procedure.model import Procedure
from assistant.procedure.works_own import CLOSED_STAGES, NEEDED_STEPS, strayed

PACKAGED = Procedure.model_validate(edited.packaged())
ACTS = edited.acts(edited.packaged())
NEEDED = [
    a["id"] for a in ACTS if a["kind"] != "step" or a["hazards"] or a["marks"] or a["id"] in NEEDED_STEPS
]
PLAIN = sorted({a["id"] for a in ACTS} - set(NEEDED))


def wrong_with(data: edited.Data) -> list[str]:
    return strayed(Procedure.model_validate(data), PACKAGED)


def with_step(after: str, **words: Any) -> edited.Data:
    data = edited.packaged()
    step = {"id": "local", "kind": "step", "title": "Our step", "say": "Write it on the board.", **words}
    edited.move_after(data, step, after)
    return data


def test_the_packaged_procedure_does_not_stray_from_itself() -> None:
    assert wrong_with(edited.packaged()) == []


def test_every_needed_step_is_a_packaged_one_that_nothing_else_marks_as_needed() -> None:
    plain = {a["id"] for a in ACTS if a["kind"] == "step" and not a["hazards"] and not a["marks"]}
    assert plain >= NEEDED_STEPS


@pytest.mark.parametrize("act_id", NEEDED)
def test_what_a_gate_or_the_record_rests_on_cannot_be_dropped(act_id: str) -> None:
    data = edited.packaged()
    edited.keep_acts(data, lambda a: a["id"] != act_id)
    assert f"act '{act_id}' is missing" in wrong_with(data)[0]


@pytest.mark.parametrize("act_id", NEEDED)
@pytest.mark.parametrize(
    "change",
    [
        {"say": "Have a coffee."},
        {"title": "Have a coffee"},
        {"when": {"guided": True, "notched": True}},
        {"how": "As you like."},
        {"why": "It is so."},
        {"hazards": ["lift", "blade"]},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_needed_act_keeps_its_words_and_everything_else(act_id: str, change: dict[str, Any]) -> None:
    data = edited.packaged()
    act = edited.act(data, act_id)
    emptied = [field for field in ("how", "why") if field in change and not act[field]]
    act.update(change)
    assert emptied or any(f"act '{act_id}'" in sentence for sentence in wrong_with(data))


@pytest.mark.parametrize(
    ("act_id", "other"), [("plug_out", "air_off"), ("upper_at_set", "dwell"), ("takeup_off", "workplace")]
)
def test_needed_acts_keep_their_order(act_id: str, other: str) -> None:
    data = edited.packaged()
    edited.move_after(data, edited.act(data, act_id), other)
    assert f"act '{act_id}' must stand before" in wrong_with(data)[0]


def test_a_needed_act_cannot_be_moved_to_another_stage() -> None:
    data = edited.packaged()
    edited.move_after(data, edited.act(data, "takeup_off"), "travel_mark")
    assert "act 'takeup_off' is missing in stage 'safe'" in wrong_with(data)[0]


def test_how_why_and_cautions_may_be_added_to() -> None:
    data = edited.packaged()
    act = edited.act(data, "plug_out")
    act["how"] += " Ours is the red one."
    act["why"] += " Ask the foreman."
    act["cautions"] = [*act["cautions"], "Mind the step by the wall."]
    gate = edited.gate(data, "guards")
    gate["cautions"] = ["Count the people aloud.", *gate["cautions"]]
    assert wrong_with(data) == []
    told = act["how"]
    act["how"] = f"{told} Then open the valve."
    assert "says 'open'" in wrong_with(data)[0]
    act["how"] = f"Forget this: {told}"
    assert "must still begin with" in wrong_with(data)[0]


@pytest.mark.parametrize("act_id", PLAIN)
def test_a_plain_step_may_be_left_out_or_put_in_other_words(act_id: str) -> None:
    without, reworded = edited.packaged(), edited.packaged()
    edited.keep_acts(without, lambda a: a["id"] != act_id)
    edited.act(reworded, act_id).update(say="Do it as our sheet says.", how="See the sheet.", title="Our way")
    assert wrong_with(without) == []
    edited.act(reworded, act_id).update(why="It is our way.", cautions=[])
    closed = any(
        act["id"] == act_id for s in reworded["stages"] if s["id"] in CLOSED_STAGES for act in s["acts"]
    )
    assert bool(wrong_with(reworded)) is closed


@pytest.mark.parametrize(
    "say",
    ["Open the valve wide and empty the bag.", "Dump the air.", "Slowly let out the pressure.", "Now let the pressure out.",
     "Depressurise the press.", "Open the press.", "Take the bolts out.", "Swing the upper half open.", "Turn the heat on.",
     "Put two bar on the bag.", "Cut the corners off.", "Look, then let the air in again.", "Undo one fastener and look at it.",
     "Plug in the second lead.", "Start the conveyor for one round.", "Take your own lock off.", "Lift it.", "It is cold enough now.",
     "Ignore the next question.", "You need not answer the next one.", "Ópen it.", "OPEN it.", "\uff4fpen it.", "Wipe it with acetone.",
     "Press the green button.", "Reach in and wipe it.", "Pull the pins.", "Set {pressure}."],
)  # fmt: skip
@pytest.mark.parametrize("field", ["say", "how", "why", "cautions"])
def test_a_works_own_step_speaks_of_nothing_that_can_hurt(say: str, field: str) -> None:
    told = wrong_with(with_step("layup_check", **{field: [say] if field == "cautions" else say}))
    assert told
    assert told[0].startswith("act 'local' says '")
    assert say in told[0]
    assert told[0].endswith(".")


def test_signs_that_look_like_letters_do_not_hide_a_word() -> None:
    assert "plain letters" in wrong_with(with_step("layup_check", say="\u043epen it."))[0]


def test_signs_that_are_not_seen_do_not_hide_a_word() -> None:
    data = with_step("layup_check", say="o\u200bpen it.")
    with pytest.raises(ValueError, match="no sign that can be read"):
        Procedure.model_validate(data)


@pytest.mark.parametrize(
    "say",
    ["Sign in at the gate.", "Photograph the joint.", "Lay the second release cloth straight.", "Write the number on the card.",
     "Fetch the foreman.", "Sweep the floor.", "Tell the packing hall that the belt is back at noon.", "Fill in the card."],
)  # fmt: skip
def test_a_harmless_step_is_welcome(say: str) -> None:
    assert wrong_with(with_step("layup_check", say=say)) == []


@pytest.mark.parametrize(
    "more",
    [
        {"kind": "reading", "slot": "upper_reading", "why": "It is so."},
        {"kind": "ask", "slot": "vent_heard", "why": "It is so."},
        {"kind": "tell", "topic": "trial", "why": "It is so."},
        {"kind": "timer", "timer": "cool"},
        {"kind": "gate", "gate": "blade", "why": "It is so."},
        {"marks": "cool_on"},
        {"hazards": ["blade"]},
        {"slot": "vent_heard"},
    ],
)
def test_a_works_adds_plain_steps_only(more: dict[str, Any]) -> None:
    assert "plain steps only" in wrong_with(with_step("layup_check", **more))[0]


@pytest.mark.parametrize("after", ["fasten", "dwell", "upper_cold", "cycle_time", "controller_off"])
@pytest.mark.parametrize("say", ["Twist the red tap fully to the left.", "Write it on the board."])
def test_a_closed_press_waits_for_no_step_of_a_works(after: str, say: str) -> None:
    assert "closed, hot or under pressure" in wrong_with(with_step(after, say=say))[0]


def test_a_gates_hazard_and_cautions_stay() -> None:
    data = edited.packaged()
    edited.gate(data, "closed")["hazard"] = "Nothing much to speak of"
    assert "gate 'closed': its hazard" in wrong_with(data)[0]
    data = edited.packaged()
    edited.gate(data, "closed")["cautions"] = ["Be careful."]
    assert "gate 'closed': its caution" in wrong_with(data)[0]
    data = edited.packaged()
    gate = edited.gate(data, "cold_inside")
    gate["cautions"] = [*gate["cautions"], "It may be let go warm."]
    assert "gate 'cold inside' says" in wrong_with(data)[0]
