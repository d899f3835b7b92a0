"""One step back: what was done since is done again, and the gates that guard it are asked again."""

from __future__ import annotations

from assistant.procedure import events as e
from assistant.procedure.rules import applies, traits_of
from assistant.procedure.turn import Turn
from assistant.procedure.values import drop_value, scratch


def go_back(turn: Turn) -> None:
    """One step back: it and what came after it are done again; gates that re-arm by going back are open again."""
    known = traits_of(turn.rules, turn.state)
    by_id = {a.id: a for _, a in turn.rules.acts() if applies(a, known)}
    if turn.state.offered is not None:
        scratch(turn)
        turn.prompt_again = True
        return
    trail = [a for a in turn.state.trail if a in by_id and a in turn.state.done]
    target = next((a for a in reversed(trail) if by_id[a].kind not in ("gate", "timer")), None)
    if target is None:
        turn.tell("This is the beginning.")
        return
    if by_id[target].marks is not None or by_id[target].kind == "decide":
        turn.tell("That has happened and can't be taken back. Make a note, or record a deviation.")
        return
    # What was done since, gates too; a timer goes on.
    since = trail[len(trail) - 1 - trail[::-1].index(target) :]
    again = [a for a in dict.fromkeys(since) if by_id[a].kind != "timer"]
    order = list(by_id)
    before = order.index(target) - 1
    while before >= 0 and by_id[order[before]].gate is not None:
        # The gates directly before that step guard it: asked again with it.
        gate = turn.rules.gate(by_id[order[before]])
        if order[before] in turn.state.done and {"back", "each"} & set(gate.rearm):
            again.append(order[before])
        before -= 1
    turn.emit(e.WentBack(acts=tuple(again), why="back"))
    act = by_id[target]
    if act.kind in ("ask", "agree", "set") and act.slot is not None:
        drop_value(turn, f"shown_{act.slot}" if act.kind == "set" else act.slot)
    air = " Let the air out before you touch a fastener." if "air_or_heat" in act.hazards else ""
    turn.tell(f"One step back.{air}")
    turn.prompt_again = True
