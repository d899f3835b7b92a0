"""Reading a procedure: the packaged one stands, a works' own files take their place, whatever is wrong is said."""

from __future__ import annotations

import hashlib
import re
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.bench.catalogue import PACKAGED as BENCH
from assistant.bench.catalogue import load_catalogue
from assistant.bench.sheet import SLOTS as SHEET_SLOTS
from assistant.bench.sheet import read_sheet, traits
from assistant.procedure.inspection import load_inspection
from assistant.procedure.load import FILES, PACKAGED, STAGE_FILES, BadProcedure, load_procedure
from assistant.procedure.model import STAGE_ORDER, Act
from assistant.procedure.slots import RECIPE_SLOTS, SLOTS, slots_now

PROCEDURE = load_procedure().procedure
ACTS = [act for stage in PROCEDURE.stages for act in stage.acts]
CATALOGUE = load_catalogue()
EXAMPLES = sorted((BENCH / "jobs").glob("*.toml"))
GATE_IDS = [gate.id for gate in PROCEDURE.gates]


def own(folder: Path, name: str, text: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / name).write_text(text, "utf-8")
    return folder


def packaged_text(name: str) -> str:
    return (PACKAGED / name).read_text("utf-8")


def refusal(folder: Path) -> str:
    with pytest.raises(BadProcedure) as caught:
        load_procedure(folder)
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


def acts_of(known: dict[str, str | bool]) -> list[tuple[str, Act]]:
    return [
        (stage.id, act)
        for stage in PROCEDURE.stages
        for act in stage.acts
        if all(known[trait] == value for trait, value in act.when.items())
    ]


def test_the_packaged_procedure_has_every_stage_in_order() -> None:
    assert tuple(stage.id for stage in PROCEDURE.stages) == STAGE_ORDER
    assert sorted(path.name for path in PACKAGED.iterdir()) == sorted(FILES)


@pytest.mark.parametrize("kind", ["shop", "conveyor"])
@pytest.mark.parametrize("sheet", EXAMPLES, ids=lambda path: path.stem)
def test_each_press_and_kind_of_job_is_walked_from_the_sheet_to_the_recipe_book(
    sheet: Path, kind: str
) -> None:
    known = traits(read_sheet(sheet, CATALOGUE), CATALOGUE, preheat=False, asymmetric=False) | {
        "job_kind": kind
    }
    walk = acts_of(known)
    print(f"{sheet.stem} {kind}: {len(walk)} acts")
    visited = list(dict.fromkeys(stage for stage, _ in walk))
    # On the conveyor every stage has something to do, in the shop all but the threading.
    assert visited == [stage for stage in STAGE_ORDER if kind == "conveyor" or stage != "thread"]
    assert len({act.id for _, act in walk}) == len(walk)


def test_a_guided_notched_belt_on_the_conveyor_asks_more_than_a_flat_one_in_the_shop() -> None:
    sheets = {path.stem: traits(read_sheet(path, CATALOGUE), CATALOGUE, False, False) for path in EXAMPLES}
    flat = {act.id for _, act in acts_of(sheets["flat_in_the_shop"])}
    guided = {act.id for _, act in acts_of(sheets["guided_on_the_conveyor"])}
    solid = {act.id for _, act in acts_of(sheets["solid_with_water"])}
    assert guided > {
        "teeth",
        "notch_count",
        "notches_in",
        "guide_in",
        "connect_inner",
        "inner_off",
        "gate_lift_upper",
    }
    assert not flat & {"teeth", "connect_inner", "gate_lift_upper", "gate_conveyor_dead", "cooling_water"}
    assert solid > {"cooling_water", "water_off", "supply_may_go"}


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.id)
def test_every_act_has_its_words(act: Act) -> None:
    assert act.title.strip()
    assert len(act.title.split()) <= 6
    assert act.say.strip().endswith((".", "?"))
    assert len(act.say.split()) <= 26
    assert act.why.strip() or act.kind == "timer"
    if act.kind != "gate":
        assert act.how.strip()


def test_no_question_gives_away_a_gate_sentence() -> None:
    sentences = [gate.sentence for gate in PROCEDURE.gates]
    for act in ACTS:
        for text in (act.title, act.say, act.how, act.why, *act.cautions):
            plain = " ".join(re.findall(r"[a-z]+", text.lower()))
            assert not [sentence for sentence in sentences if sentence in plain], act.id


def test_every_slot_is_known_to_somebody() -> None:
    sheet, looked = {info.slot for info in SHEET_SLOTS}, {item.slot for item in load_inspection().items}
    for act in ACTS:
        if act.slot is None:
            continue
        if act.kind in ("look", "measure"):
            assert act.slot in looked, act.id
        if act.kind != "look":
            assert act.slot in SLOTS or act.slot in sheet, act.id


@pytest.mark.parametrize("running", [False, True])
def test_no_two_values_go_by_the_same_name(running: bool) -> None:
    said = [saying for slot in slots_now(running=running) for saying in slot.sayings]
    sheet = [saying for info in SHEET_SLOTS for saying in info.sayings]
    assert sorted(set(said)) == sorted(said)
    assert not set(said) & set(sheet)


def test_the_plain_name_is_the_value_before_the_run_and_the_reading_in_it() -> None:
    def called(name: str, running: bool) -> list[str]:
        return [slot.slot for slot in slots_now(running=running) if name in slot.sayings]

    assert called("upper platen", False) == ["upper_temperature"]
    assert called("upper platen", True) == ["upper_reading"]
    assert called("set upper platen", True) == ["upper_temperature"]
    assert not [slot for slot in slots_now(running=True) if slot.slot in RECIPE_SLOTS and slot.changeable]


def test_every_inspection_item_is_asked_once() -> None:
    asked = [act.slot for act in ACTS if act.kind in ("look", "measure")]
    assert sorted(map(str, asked)) == sorted(item.slot for item in load_inspection().items)


def test_a_thickness_over_the_joint_is_asked_after_the_one_beside_it() -> None:
    order = [act.slot for act in ACTS]
    for item in load_inspection().items:
        if item.beside is not None:
            assert order.index(item.beside) < order.index(item.slot)


def test_the_digest_is_of_the_bytes_read_and_changes_with_any_of_them(tmp_path: Path) -> None:
    plain = hashlib.sha256()
    for name in FILES:
        data = (PACKAGED / name).read_bytes()
        plain.update(name.encode() + b" " + str(len(data)).encode() + b"\n" + data)
    assert load_procedure().digest == plain.hexdigest()
    folder = own(tmp_path / "works", "18_keep.toml", packaged_text("18_keep.toml") + "# ours\n")
    assert load_procedure(folder).digest != plain.hexdigest()


def test_a_works_own_step_is_taken_up(tmp_path: Path) -> None:
    text = packaged_text("04_safe.toml").replace(
        "[[acts]]",
        '[[acts]]\nid = "gatehouse"\nkind = "step"\ntitle = "Sign in"\nsay = "Sign in at the gate."\n\n[[acts]]',
        1,
    )
    loaded = load_procedure(own(tmp_path / "works", "04_safe.toml", text))
    assert loaded.procedure.stages[3].acts[0].id == "gatehouse"
    assert loaded.procedure.stages[5] == PROCEDURE.stages[5]


@pytest.mark.parametrize(
    ("name", "words", "own_words", "said"),
    [
        ("13_isolate.toml", "Pull the supply plug and keep it with you.", "Have a coffee.", "act 'plug_out': its 'say' must stay"),
        ("11_run.toml", "Readings may be told at any time. Watch", "Open the valve wide. Watch", "act 'dwell': its 'how' must still"),
        ("04_safe.toml", "Clear the bench. Nothing", "Clear the bench, dump the air. Nothing", "act 'bench_clear' says 'dump'"),
        ("gates.toml", "the inside has cooled down", "the inside has not cooled down", "gate 'cold inside': its sentence"),
    ],
)  # fmt: skip
def test_words_that_lead_past_a_gate_are_refused(
    name: str, words: str, own_words: str, said: str, tmp_path: Path
) -> None:
    text = packaged_text(name)
    assert words in text
    assert said in refusal(own(tmp_path / "works", name, text.replace(words, own_words)))


def test_a_whole_copy_of_the_procedure_is_the_same(tmp_path: Path) -> None:
    shutil.copytree(PACKAGED, tmp_path / "copy")
    assert load_procedure(tmp_path / "copy") == load_procedure()


@pytest.mark.parametrize("gate_id", GATE_IDS)
def test_a_file_that_leaves_a_gate_out_is_refused_by_its_name(gate_id: str, tmp_path: Path) -> None:
    blocks = packaged_text("gates.toml").split("[[gates]]")
    text = "[[gates]]".join(block for block in blocks if f'id = "{gate_id}"' not in block)
    assert f"gate '{gate_id.replace('_', ' ')}' is missing" in refusal(
        own(tmp_path / "works", "gates.toml", text)
    )


@pytest.mark.parametrize("gate_id", GATE_IDS)
def test_a_file_whose_gate_answers_to_a_bare_yes_is_refused(gate_id: str, tmp_path: Path) -> None:
    sentence = PROCEDURE.gate(gate_id).sentence
    text = packaged_text("gates.toml").replace(f'"{sentence}"', '"yes yes yes yes"')
    assert f"gate '{gate_id.replace('_', ' ')}'" in refusal(own(tmp_path / "works", "gates.toml", text))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("  \n", "is empty"),
        ("id = ", "at its end"),
        ('id = "keep"\ntitle = = 3\n', "line 2"),
        ('id = "keep"\ntitle = "Keep"\nacts = 5\n', "acts"),
        ('id = "keep"\ntitle = "Keep"\ncolour = "red"\nacts = []\n', "colour"),
        ('id = "lunch"\ntitle = "Lunch"\nacts = []\n', "id"),
        ('id = "keep"\ntitle = "Keep"\n[[acts]]\nid = "x"\nkind = "step"\ntitle = "Say"\nsay = ""\n', "say"),
        (
            'id = "keep"\ntitle = "Keep"\n[[acts]]\nid = "x"\nkind = "ask"\ntitle = "Say"\nsay = "What?"\n',
            "needs 'slot'",
        ),
        (
            'id = "keep"\ntitle = "Keep"\n[[acts]]\nid = "x"\nkind = "step"\ntitle = "Say"\nsay = "A {b}."\n',
            "{b}",
        ),
        (
            'id = "keep"\ntitle = "Keep"\n[[acts]]\nid = "x"\nkind = "step"\ntitle = "Say"\nsay = "A {b."\n',
            "bracket",
        ),
        ('id = "job"\ntitle = "Keep"\nacts = []\n', "'keep' is missing"),
        ("a" * 1_000_001, "megabyte"),
    ],
)
def test_a_file_that_is_wrong_is_refused_in_one_sentence(text: str, said: str, tmp_path: Path) -> None:
    assert said in refusal(own(tmp_path / "works", "18_keep.toml", text))


def test_junk_folders_and_strangers_are_refused_in_one_sentence(tmp_path: Path) -> None:
    assert "no folder" in refusal(tmp_path / "nowhere")
    (tmp_path / "bare").mkdir()
    assert "is empty" in refusal(tmp_path / "bare")
    assert "is a file" in refusal(own(tmp_path / "w0", "18_keep.toml", "x") / "18_keep.toml")
    assert "no file of a procedure" in refusal(own(tmp_path / "w1", "keep.toml", "x"))
    (own(tmp_path / "w2", "18_keep.toml", "x") / "18_keep.toml").write_bytes(b"\x00\xff\xfe\x80" * 40)
    assert "not UTF-8" in refusal(tmp_path / "w2")
    (tmp_path / "w3" / "18_keep.toml").mkdir(parents=True)
    assert "is a folder" in refusal(tmp_path / "w3")
    assert "not usable" in refusal(Path("a\0b"))


def test_every_stage_file_can_be_replaced_on_its_own(tmp_path: Path) -> None:
    for name in STAGE_FILES:
        folder = own(tmp_path / name, name, packaged_text(name))
        assert load_procedure(folder).procedure == PROCEDURE


@pytest.mark.slow
@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(st.binary(max_size=300), st.sampled_from(FILES), st.integers(0, 4000))
def test_bytes_thrown_into_any_file_load_or_are_refused_in_one_sentence(
    tmp_path_factory: pytest.TempPathFactory, junk: bytes, name: str, at: int
) -> None:
    folder = tmp_path_factory.mktemp("works")
    data = (PACKAGED / name).read_bytes()
    (folder / name).write_bytes(data[: at % len(data)] + junk + data[at % len(data) :])
    try:
        load_procedure(folder)
    except BadProcedure as error:
        assert str(error).endswith(".")  # noqa: PT017 - both outcomes are right
