"""Each line that keeps a gate, weakened: file, the line, what stands in its stead, and the test file to try first."""

from __future__ import annotations

from typing import NamedTuple

GATES, WHEN_PUT, VALUES, RUN = (f"test_decide_{name}.py" for name in ("gates", "when_put", "values", "run"))
MANDATORY, LOAD, GRAPH, BROKEN = (
    "test_mandatory.py",
    "test_load_procedure.py",
    "test_graph.py",
    "test_interrupted.py",
)
MACHINE, RULE, SESSION, OWN = (
    "test_gate_machine.py",
    "test_gate_rules.py",
    "test_session.py",
    "test_works_own.py",
)
WORDS = "test_gate_in_other_words.py"
TAKEN_UP, LIES = "../tamper/test_tamper_taken_up.py", "../tamper/test_tamper_lies.py"
HEARD, ENTRIES = "../speech/test_verify.py", "../tamper/test_entry_signatures.py"


class Mutant(NamedTuple):
    rule: str  # what is taken away
    file: str  # under the project
    line: str  # as it stands there, once
    instead: str
    first: str  # the test file that should catch it


_P, _R = "assistant/procedure/", "assistant/record/"

MUTANTS: tuple[Mutant, ...] = (
    # -- what closes a gate
    Mutant("the key never answers", _P + "gates.py", 'if heard.way == "key":', "if False:", GATES),
    Mutant("only the sentence", _P + "gates.py", 'if not is_sentence:', "if False:", GATES),
    Mutant("readings stand first", _P + "gates.py", "if reasons := needs_open(turn.rules, turn.state, gate, turn.now_s):", "if reasons := ():", RULE),
    Mutant("after the question", _P + "gates.py", "if put_s is None or heard.began_s <= put_s:", "if put_s is None:", GATES),
    Mutant("after a question that was put", _P + "gates.py", "if put_s is None or heard.began_s <= put_s:", "if put_s is not None and heard.began_s <= put_s:", GATES),
    Mutant("not in the moment of the question", _P + "gates.py", "heard.began_s <= put_s:", "heard.began_s < put_s:", RULE),
    Mutant("a 'not' is a word of its own", _P + "gates.py", 'if heard.way == "voice" and has_not_run_in(heard):', "if False:", RULE),
    Mutant("verified and gate grade", _P + "gates.py", "not (heard.verified and heard.gate_grade)", "False", RULE),
    Mutant("gate grade", _P + "gates.py", "not (heard.verified and heard.gate_grade)", "not heard.verified", RULE),
    Mutant("spoken: after it had been said", _P + "gates.py", 'question.said_s if heard.way == "voice" else question.shown_s', "question.shown_s", SESSION),
    Mutant("turned round among what it may have been", _P + "gates.py", "(other := turned_round(heard))", "(other := '')", GATES),
    Mutant("the sentence word for word", "intents/match.py", "if sentence is not None and spoken == canonical(sentence):", "if sentence is not None and set(canonical(sentence).split()) <= set(spoken.split()):", GATES),
    Mutant("the sentence in its order", "intents/match.py", "if sentence is not None and spoken == canonical(sentence):", "if sentence is not None and sorted(spoken.split()) == sorted(canonical(sentence).split()):", RULE),
    Mutant("no word left out", "intents/match.py", "if sentence is not None and spoken == canonical(sentence):", "if sentence is not None and spoken.split()[1:] == canonical(sentence).split()[1:]:", RULE),
    Mutant("no act behind a gate that its reading opened", _P + "values.py", "(now := current(turn.rules, turn.state)) is None or now[1].id != act.id", "False", RULE),
    Mutant("typed once it can have been read", _P + "gates.py", "heard.began_s < put_s + READ_AFTER_S", "False", RULE),
    Mutant("a step that can hurt is heard well", _P + "at_act.py", "return not _counts(act) or heard_well(turn, heard)", "return True", RULE),
    Mutant("what moves the run is heard well", _P + "at_act.py", "return heard.way != \"voice\" or heard_well(turn, heard)", "return True", RULE),
    Mutant("a plain yes does nothing that counts", _P + "at_act.py", "    if _counts(act):", "    if False:", RULE),
    Mutant("a torn tail is noted with the restart", "assistant/session.py", "if line.kind != \"torn_tail\")", "if True)", "test_unchecked.py"),
    Mutant("no cooling that nothing vouches for", _P + "unchecked.py", "if not state.unchecked or timeline.cool_on_s is None:", "if True:", "test_unchecked.py"),
    Mutant("readings since the restart", _P + "unchecked.py", "return max(state.cool_on_s, *(until_s for _, until_s in state.unchecked), state.cool_on_s)", "return state.cool_on_s", "test_unchecked.py"),
    Mutant("no dwell over a restart between the set temperature and its start", _P + "settle.py", "if start_untimed(turn, act.timer, start, total):", "if False:", "test_unchecked.py"),
    Mutant("a restart is known for one", _P + "decide.py", "e.Resumed(gap_s=gap_s, note=note, unchecked=unchecked)", "e.Resumed(gap_s=gap_s, note=note)", "test_unchecked.py"),
    Mutant("no reading against the one before", _P + "readings.py", "slot, value, turn.now_s, state.readings)", "slot, value, turn.now_s, ())", "test_false_readings.py"),
    Mutant("a works adds nothing to a closed press", _P + "works_own.py", "if stage in CLOSED_STAGES:", "if False:", OWN),
    Mutant("connected again", _P + "reconnected.py", 'rearm(turn, "reconnect", "the press was connected again")', "pass", RULE),
    # -- in which of its wordings
    Mutant("only wordings that were asked", _P + "gate_wording.py", "    approved = wordings(gate)\n    return tuple(", "    approved = wordings(gate)\n    return (*approved[1:], approved[0])\n    return tuple(", WORDS),
    Mutant("only approved wordings, whatever a log holds", _P + "gate_wording.py", "for s in state.gate.wordings if s in approved)", "for s in state.gate.wordings)", WORDS),
    Mutant("the rule looks again which were asked", _P + "gates.py", "is_sentence = said in asked_so_far(turn.rules, turn.state, here[1])", "is_sentence = said is not None", WORDS),
    Mutant("a putting begins with the first wording", _P + "evolve.py", "wordings=(event.sentence,)", "wordings=(*(state.gate.wordings if state.gate else ()), event.sentence)", WORDS),
    Mutant("taken up again: the first wording", _P + "evolve.py", "state, resumed=state.resumed + 1, gate=None,", "state, resumed=state.resumed + 1,", WORDS),
    Mutant("the other wording must be put as well", _P + "evolve.py", "refused = replace(refused, wordings=(*asked, event.ask_next))", "refused = replace(gate, wordings=(*asked, event.ask_next))", WORDS),
    Mutant("the other wording only after a clear answer", _P + "gates.py", 'clear = heard.way == "voice" and heard.verified and heard.gate_grade', 'clear = heard.way == "voice"', WORDS),
    Mutant("typed: the same wording", _P + "gates.py", 'clear = heard.way == "voice" and heard.verified and heard.gate_grade', "clear = heard.verified and heard.gate_grade", WORDS),
    Mutant("the other wording only after the question", _P + "gates.py", "after = put_s is not None and heard.began_s > put_s", "after = True", WORDS),
    Mutant("read back: the same wording", _P + "gates.py", "if not clear or not after or turn.state.offered is not None:", "if not clear or not after:", WORDS),
    Mutant("something must stand first: the same wording", _P + "gates.py", "    if needs_open(turn.rules, turn.state, gate, turn.now_s):\n        return \"\"", "    if False:\n        return \"\"", WORDS),
    Mutant("in noise the same wording once more", _P + "gates.py", "heard.snr_db < QUIET_dB and turn.state.misses < 2", "False", WORDS),
    Mutant("in noise not the same wording for ever", _P + "gates.py", "heard.snr_db < QUIET_dB and turn.state.misses < 2", "heard.snr_db < QUIET_dB", WORDS),
    Mutant("a command is no try at the sentence", _P + "decide.py", 'is_command=intent not in ("sentence", "other_sentence")', "is_command=False", WORDS),
    Mutant("the record holds what was said", _P + "gates.py", "sentence=str(said), way=", "sentence=gate.sentence, way=", WORDS),
    Mutant("the sentence that is asked now is shown", "assistant/publish.py", "GateView(data.hazard, asked_now(rules, state, act), data.cautions)", "GateView(data.hazard, data.sentence, data.cautions)", WORDS),
    # -- what opens it again
    Mutant("re-armed by resume", _P + "gates.py", "(reason in gate.rearm and still_there)", '(reason in gate.rearm and reason != "resume" and still_there)', GATES),
    Mutant("re-armed by another person", _P + "gates.py", "(reason in gate.rearm and still_there)", '(reason in gate.rearm and reason != "person" and still_there)', GATES),
    Mutant("asked anew where its act is ahead", _P + "gates.py", '(unused and reason in ("person", "resume"))', "False", RULE),
    Mutant("not asked where the hazard is gone", _P + "gates.py", "still_there = False", "still_there = True", GATES),
    Mutant("resume re-arms at all", _P + "decide.py", 'opened = rearm(turn, "resume", "the session was taken up again")', "opened: list[str] = []", GATES),
    Mutant("hand-over re-arms at all", _P + "values.py", 'opened = rearm(turn, "person", f"{taker} took over from {giver}")', "opened: list = []", GATES),
    Mutant("a hotter reading", _P + "gates.py", 'lambda act: "cold_inside" in turn.rules.gate(act).needs, "a reading', 'lambda act: False, "a reading', GATES),
    Mutant("pressure in the gauge again", _P + "gates.py", 'lambda act: "dead_and_empty" in turn.rules.gate(act).needs, "the gauge', 'lambda act: False, "the gauge', RULE),
    Mutant("the vent was not heard after all", _P + "values.py", 'lambda a: "dead_and_empty" in turn.rules.gate(a).needs', "lambda a: False", GATES),
    Mutant("a changed value is compared again", _P + "values.py", "    if again:\n        turn.emit(e.WentBack(acts=again, why=\"change\"))\n    _value_changed(turn)", "    if again:\n        turn.emit(e.WentBack(acts=again, why=\"change\"))", RULE),
    Mutant("a changed sheet is compared again", _P + "values.py", 'act.kind in ("tell", "agree", "set") or _rearms_on_change(turn, act)', 'act.kind in ("tell", "agree", "set")', VALUES),
    Mutant("back: the gates of that step", _P + "back.py", '{"back", "each"} & set(gate.rearm)', "False", GATES),
    Mutant("back: not over what has happened", _P + "back.py", 'if by_id[target].marks is not None or by_id[target].kind == "decide":', "if False:", GATES),
    Mutant("opened early: closed again with its gates", _P + "interrupted.py", 'rearm_act(turn, lambda act: act.id in again, "the press was opened")', "pass", BROKEN),
    Mutant("heated again: cold is asked again", _P + "interrupted.py", 'rearm_act(turn, lambda act: act.id in beyond, "it is heated again")\n    _do_again(turn, lambda act: act.id in beyond)', "_do_again(turn, lambda act: act.id in beyond and act.gate is None)", RULE),
    Mutant("refused: the question is put again", _P + "evolve.py", "replace(gate, shown_s=None, said_s=None) if gate else None", "gate", RULE),
    Mutant("hand-over: the question is put again", _P + "evolve.py", "values=values, offered=None, gate=None, put=None)", "values=values, offered=None)", RULE),
    Mutant("only what is heard after the vent counts", _P + "evolve.py", 'values=_without(state.values, frozenset({"vent_heard"})))', "values=state.values)", RULE),
    # -- cold inside, dead and empty
    Mutant("cooling has begun", _P + "cold.py", "if state.heat_on_s is None or state.cool_on_s is None:", "if state.heat_on_s is None:", RULE),
    Mutant("readings since cooling began", _P + "cold.py", "reading = state.last_reading(slot, since_s=reads_since_s(state))\n        if reading is None:", "reading = state.last_reading(slot)\n        if reading is None:", RULE),
    Mutant("both platens are read", _P + "cold.py", 'if slot != "edge_reading":', 'if slot == "upper_reading":', RULE),
    Mutant("a reading that cannot be", _P + "cold.py", "elif not reading.plausible:", "elif False:", RULE),
    Mutant("no reading above release", _P + "cold.py", "elif reading.value > release + 1e-6:", "elif reading.value > release + 25.0:", RULE),
    Mutant("the inside is cold", _P + "cold.py", "if hottest > release + 1e-6:", "if False:", GATES),
    Mutant("the upper end of the band", _P + "cold.py", "cooling, readings, t_s).hottest_upper_K", "cooling, readings, t_s).hottest_K", RULE),
    Mutant("vented", _P + "cold.py", "if state.vented_s is None:", "if False:", RULE),
    Mutant("the vent was heard", _P + "cold.py", 'if state.values.get("vent_heard") != "yes":', "if False:", RULE),
    Mutant("the gauge was read", _P + "cold.py", 'if gauge is None:\n        return ("Read', 'if False:\n        return ("Read', RULE),
    Mutant("the gauge is at zero", _P + "cold.py", "if gauge.value > GAUGE_ZERO_Pa:", "if False:", GATES),
    Mutant("the gauge since the vent", _P + "cold.py", 'def dead_reasons(state: State) -> tuple[str, ...]:\n    """Why nothing may be unfastened yet; empty when it may."""\n    if state.vented_s', 'def dead_reasons(state: State) -> tuple[str, ...]:\n    """Why nothing may be unfastened yet; empty when it may."""\n    state = __import__("dataclasses").replace(state, vented_s=None if state.vented_s is None else 0.0)\n    if state.vented_s', RULE),
    Mutant("readings before heat do not count", _P + "readings.py", 'return Judgement(False, "Heat is not on', 'return Judgement(True, "Heat is not on', RULE),
    Mutant("at temperature only by readings", _P + "run.py", "if reason := not_at_set(turn):", "if reason := '':", RUN),
    # -- nothing goes past
    Mutant("acts in their order", _P + "rules.py", "if act.id not in done and applies(act, known):", 'if act.id not in done and applies(act, known) and act.kind != "gate":', GATES),
    Mutant("held: nothing moves", _P + "decide.py", 'if state.held and intent != "stop_session"', 'if False and intent != "stop_session"', GATES),
    Mutant("held: nothing settles", _P + "settle.py", "while not turn.state.held and turn.state.offered is None", "while turn.state.offered is None", RULE),
    Mutant("danger holds", _P + "decide.py", "elif state.danger and intent not in IN_DANGER", "elif False and intent not in IN_DANGER", GATES),
    Mutant("skip is counted", _P + "gates.py", "count = turn.state.skips + 1", "count = 1", GATES),
    Mutant("three skips: the supervisor", _P + "gates.py", "if count >= SKIPS_BEFORE_SUPERVISOR:", "if False:", GATES),
    Mutant("the key answers steps only", _P + "decide.py", 'if heard.way == "key" and state.gate is None and not _key_answers(turn):', "if False:", RULE),
    Mutant("the key counts once seen", _P + "decide.py", "return heard.began_s >= put.shown_s + SEEN_AFTER_S", "return True", WHEN_PUT),
    Mutant("the key waits for its step", "assistant/session.py", "if step is not None and prompt(self.rules, self.state, stamp.t_s).key == step.id:", "if here is not None:", RULE),
    Mutant("a yes is not enough at a hazard", _P + "at_act.py", "if act.hazards or act.marks:", "if False:", WHEN_PUT),
    Mutant("confirmed after the question", _P + "at_act.py", "if not _after_the_question(turn, heard):", "if False:", WHEN_PUT),
    Mutant("confirmed clearly", _P + "at_act.py", 'elif heard.way == "voice" and not heard.verified:', "elif False:", VALUES),
    Mutant("values stand in the run", _P + "refused.py", "if state.heat_on_s is not None:\n        return RUNNING\n    job =", "job =", RULE),
    Mutant("cut short is not put", "assistant/session.py", "if asked != self._asked or self.failed", "if self.failed", SESSION),
    Mutant("deaf while speaking", "speech/listen.py", "DEAF_TAIL_S = ", "DEAF_TAIL_S = -1e9 * ", "../speech/test_listen.py"),
    # -- a gate that was closed in the file, not at the press
    Mutant("entries are signed", _R + "log.py", 'if event["kind"] != "sealed":', "if False:", TAKEN_UP),
    Mutant("the last entry is the bench's own", _R + "heads.py", "fault, _ = signature_fault(last, session, keys)", 'fault = ""', TAKEN_UP),
    Mutant("the log reaches its mark", _R + "heads.py", "if mark.count > last.n + 1:", "if False:", TAKEN_UP),
    Mutant("the marked line is that one", _R + "heads.py", "if at_mark is None or bare_digest(at_mark) != mark.bare:", "if at_mark is None:", TAKEN_UP),
    Mutant("the mark is the bench's own", _R + "heads.py", "mark is None or not signed_by(keys.all(), session, mark.count, mark.bare, mark.signature)", "mark is None", TAKEN_UP),
    Mutant("a mark far behind is told", _R + "heads.py", "if behind > 1:", "if False:", TAKEN_UP),
    Mutant("the mark follows every entry", _R + "log.py", "self._voucher.reached(self._count, bare, signature)", "pass", TAKEN_UP),
    Mutant("looked at before it is taken up", "assistant/opening.py", "if found.fault:", "if False:", TAKEN_UP),
    Mutant("what was changed is not offered", _R + "store.py", "and not self._fault(row)", "", TAKEN_UP),
    Mutant("trouble with the mark is noted", "assistant/session.py", "(self.clock.note(), of_record)", "(self.clock.note(),)", TAKEN_UP),
    Mutant("trouble with the mark is told before the seal", "assistant/session.py", "if of_record else []", "if False else []", TAKEN_UP),
    Mutant("an old key signs nothing new", _R + "append_signature.py", "return keys.fault(key, line.wall), key", 'return "", key', TAKEN_UP),
    Mutant("a signature is of its session", _R + "append_signature.py", "(session, str(count), bare)", "(str(count), bare)", LIES),
    Mutant("every signature is looked at", _R + "append_signature.py", "if look and not line.left:", "if False:", LIES),
    Mutant("the last signature stands for all", _R + "append_signature.py", "fault, _ = signature_fault(self._last, self._session, self.keys)", 'fault = ""', ENTRIES),
    Mutant("no entry without a signature", _R + "append_signature.py", "if self.each or len(line.sig) != _SIGNATURE:", "if self.each:", ENTRIES),
    Mutant("each signature where a key was handed over", _R + "append_signature.py", "self.each = each or bool(keys.hand_overs)", "self.each = each", ENTRIES),
    Mutant("each signature to name the first bad line", _R + "append_signature.py", "self.fault = whole.fault or (last + 1, fault)", "self.fault = (last + 1, fault)", ENTRIES),
    Mutant("another hand is noticed", _R + "log.py", "if not self._as_left():", "if False:", TAKEN_UP),
    Mutant("an edit in the middle is noticed", _R + "log.py", "if changed_ns != self._changed_ns and self._count:", "if False:", TAKEN_UP),
    Mutant("nothing behind the seal", "assistant/review/found.py", "            if found.seals:\n                found.torn_seals", "            if False:\n                found.torn_seals", LIES),
    # -- what an ear must have heard for a gate
    *(
        Mutant(rule, "speech/verify.py", line, "if False:", HEARD)
        for rule, line in (
            ("how sure it is, is known", "if heard.sureness is None:"),
            ("the ear was measured with gates", "if not heard.for_gates:"),
            ("the noise is known", "if heard.snr_db is None:"),
            ("clear of the noise", "if heard.snr_db < GATE_SNR_DB:"),
            ("sure enough for a gate", "if heard.sureness < GATE_SURENESS:"),
            ("when its words were said is known", "if heard.first_letters is None or heard.rest_letters is None:"),
            ("nothing was said before it", "if heard.first_letters > FIRST_WORD_LETTERS:"),
            ("nothing was said after it", "if heard.rest_letters > REST_LETTERS:"),
            ("not while we speak", "if heard.while_deaf:"),
            ("not the rest of something longer", "if heard.goes_on:"),
        )
    ),
    # -- checked when a procedure is loaded
    Mutant("checked at load", _P + "load.py", "wrong = _unknown_placeholders(procedure) + check(procedure)", "wrong = _unknown_placeholders(procedure)", LOAD),
    Mutant("a works' own is compared", _P + "load.py", "if folder is not None and not wrong:", "if False:", OWN),
    Mutant("stages in their order", _P + "mandatory.py", "if given == STAGE_ORDER:", "if True:", MANDATORY),
    Mutant("each gate once in gates.toml", _P + "mandatory.py", "if copies != 1:", "if copies < 1:", MANDATORY),
    Mutant("no reason to re-arm dropped", _P + "mandatory.py", "dropped = [reason for reason in rule.rearm if reason not in gate.rearm]", "dropped: list[str] = []", MANDATORY),
    Mutant("no needed reading dropped", _P + "mandatory.py", "lacking = [need for need in rule.needs if need not in gate.needs]", "lacking: list[str] = []", MANDATORY),
    Mutant("a hazard lasts as long as it does", _P + "mandatory.py", "if STAGE_ORDER.index(gate.until) < STAGE_ORDER.index(rule.until):", "if False:", MANDATORY),
    Mutant("a hazard ends with its own act", _P + "mandatory.py", "if gate.until_hazard not in (None, rule.until_hazard):", "if False:", MANDATORY),
    Mutant("only approved sentences", _P + "mandatory.py", "if gate.sentence not in rule.sentences:", "if False:", MANDATORY),
    Mutant("before its hazard", _P + "mandatory.py", "if due & place.jobs & ~asked:", "if False:", MANDATORY),
    Mutant("asked in every such job", _P + "mandatory.py", "if not wrong and here & ~asked:", "if False:", MANDATORY),
    Mutant("asked in its stage", _P + "mandatory.py", "if rule.within and place.stage not in rule.within:", "if False:", MANDATORY),
    Mutant("asked once", _P + "mandatory.py", "if asked & place.jobs:", "if False:", MANDATORY),
    Mutant("after what it rests on", _P + "mandatory.py", "if place.act.gate == rule.id and place.jobs & due & ~done:", "if False:", MANDATORY),
    Mutant("proofs count from the vent", _P + "mandatory.py", "begun = 0 if rule.since else here", "begun = here", MANDATORY),
    Mutant("directly before each such act", _P + "mandatory.py", "if open_in:\n            return [", "if False:\n            return [", MANDATORY),
    Mutant("nothing between a gate and its act", _P + "mandatory.py", 'return act.kind == "gate"', "return True", MANDATORY),
    Mutant("no hazardous act left unflagged", _P + "mandatory.py", "        if short:\n", "        if False:\n", MANDATORY),
    Mutant("heat and vent stamped once", _P + "mandatory.py", "if seen & place.jobs:", "if False:", MANDATORY),
    Mutant("table: the conveyor is asked again on resume", _P + "gate_table.py", '"conveyor_dead", (), ("person", "resume", "back")', '"conveyor_dead", (), ("person", "back")', MANDATORY),
    Mutant("table: the blade each time", _P + "gate_table.py", "        each=True,\n    ),\n    Rule(\n        \"lifting\"", "    ),\n    Rule(\n        \"lifting\"", MANDATORY),
    Mutant("table: cold needs readings", _P + "gate_table.py", 'within=("release",), needs=("cold_inside",),', 'within=("release",),', MANDATORY),
    Mutant("table: closed stands before air", _P + "gate_table.py", '"closed", ("air_or_heat", "start")', '"closed", ("start",)', MANDATORY),
    Mutant("table: the run waits for the values", _P + "gate_table.py", '"values_agree", ("start",), ("value_changed",)', '"values_agree", ("start",), ()', MANDATORY),
    Mutant("table: the plug is out", _P + "gate_table.py", '    Need("step", "plug_out"),\n', "", MANDATORY),
    Mutant("own words speak of no hazard", _P + "works_own.py", "if found is not None:", "if False:", OWN),
)  # fmt: skip
"""Taken away one at a time."""
