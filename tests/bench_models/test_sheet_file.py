"""Job files: read, written, refused."""

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.bench.bad_data import LARGEST_BYTES, BadData
from assistant.bench.catalogue import PACKAGED, load_catalogue
from assistant.bench.sheet import read_sheet, write_sheet

CATALOGUE = load_catalogue()
EXAMPLE = (PACKAGED / "jobs" / "flat_in_the_shop.toml").read_text()
FUNCTION_FIXTURE = [HealthCheck.function_scoped_fixture]


def test_units_of_the_file_become_si() -> None:
    values = read_sheet(PACKAGED / "jobs" / "flat_in_the_shop.toml")
    assert values["belt_thickness"] == pytest.approx(0.002)  # class: analytic -- mm
    assert values["lead_section"] == pytest.approx(2.5e-6)  # class: analytic -- mm2
    assert values["shop_temperature"] == pytest.approx(292.15)  # class: analytic -- 19 °C
    assert values["elongation"] == pytest.approx(0.005)  # class: analytic -- per cent
    assert (values["new_pair"], values["belt"]) == ("no", "packing_line")


READABLE = st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp"])  # the rest is refused
SHEETS = st.fixed_dictionaries(
    {},
    optional={
        "technician": st.text(READABLE, min_size=1, max_size=60),
        "job_kind": st.sampled_from(["shop", "conveyor"]),
        "belt": st.text(READABLE, max_size=20),
        "belt_plies": st.integers(0, 3).map(float),
        "belt_guide": st.sampled_from(["none", "z", "a", "b"]),
        "belt_thickness": st.floats(0.0005, 0.03),
        "belt_width": st.floats(0.01, 4),
        "elongation": st.floats(0, 0.05),
        "endless_length": st.floats(0.1, 300),
        "lead_section": st.sampled_from([1.5e-6, 2.5e-6, 4e-6]),
        "shop_temperature": st.floats(253.2, 323.1),
        "lead_coiled": st.sampled_from(["yes", "no"]),
        "new_pair": st.sampled_from(["yes", "no"]),
    },
)


@settings(max_examples=60, suppress_health_check=FUNCTION_FIXTURE)
@given(SHEETS)
def test_what_is_written_is_read_back(tmp_path: Path, values: dict[str, float | str]) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(write_sheet(values).encode("utf-8", "surrogatepass"))
    back = read_sheet(path)
    assert back.keys() == values.keys()
    for slot, value in values.items():
        # class: analytic -- inverse, to ten digits of the file's unit
        assert back[slot] == (value if isinstance(value, str) else pytest.approx(value, rel=1e-8, abs=1e-12))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "belt_width_mm = 45.0",
            "belt_width_mm = 4500.0",
            r"line 7, belt_width_mm: A width of 4500 mm cannot be",
        ),
        (
            "belt_thickness_mm = 2.0",
            "belt_thickness_mm = 0",
            r"line 6, belt_thickness_mm: A belt thickness of zero",
        ),
        (
            "belt_thickness_mm = 2.0",
            'belt_thickness_mm = "two"',
            r"line 6: the key 'belt_thickness_mm' is 'two' but",
        ),
        ("belt_thickness_mm", "belt_thicknes_mm", r"line 6: the key 'belt_thicknes_mm' is not known here"),
        ("belt_thickness_mm = 2.0", "belt_thickness_mm 2.0", r"line 6: not TOML"),
        ("belt_thickness_mm = 2.0", "belt_thickness_mm = inf", r"line 6: the key 'belt_thickness_mm'"),
        ('template = "green"', 'template = "gold"', r"line 10, template: The channel of the gold template"),
        ("schema_version = 1\n", "", "'schema_version' is missing"),
        ("schema_version = 1", "schema_version = 7", "line 2: the key 'schema_version'"),
        ("new_pair = false", 'new_pair = "perhaps"', "new_pair"),
        ("new_pair = false", "new_pair = false\n[x]", "line 20: the key 'x' is not known"),
        ("new_pair = false", "new_pair = ", r"not TOML"),
    ],
)
def test_a_wrong_job_file_is_refused_with_line_and_key(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    assert old in EXAMPLE
    path = tmp_path / "job.toml"
    path.write_text(EXAMPLE.replace(old, new))
    with pytest.raises(BadData, match=words) as refused:
        read_sheet(path, CATALOGUE)
    assert "\n" not in str(refused.value)
    assert "job.toml" in str(refused.value)


def test_files_that_are_none_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BadData, match="no file"):
        read_sheet(tmp_path / "nowhere.toml")
    with pytest.raises(BadData, match="is a folder"):
        read_sheet(tmp_path)
    with pytest.raises(BadData, match="cannot be read"):
        read_sheet(Path("a\0b"))
    empty = tmp_path / "empty.toml"
    empty.write_text(" \n")
    with pytest.raises(BadData, match="is empty"):
        read_sheet(empty)
    huge = tmp_path / "huge.toml"
    with huge.open("wb") as file:
        os.truncate(file.fileno(), 100 * LARGEST_BYTES)
    with pytest.raises(BadData, match="larger than one megabyte"):
        read_sheet(huge)
    junk = tmp_path / "junk.toml"
    junk.write_bytes(bytes(range(256)) * 16)
    with pytest.raises(BadData, match="not UTF-8 text"):
        read_sheet(junk)
    deep = tmp_path / "deep.toml"
    deep.write_text("a = " + "[" * 20_000)
    with pytest.raises(BadData, match="not TOML"):
        read_sheet(deep)
    with pytest.raises(BadData, match="not an ordinary file"):
        read_sheet(Path("/dev/zero"))


@pytest.mark.slow
@settings(max_examples=150, suppress_health_check=FUNCTION_FIXTURE)
@given(
    st.one_of(
        st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace"))
    )
)
def test_no_junk_gets_past_as_anything_but_bad_data(tmp_path: Path, junk: bytes) -> None:
    path = tmp_path / "junk.toml"
    path.write_bytes(b"schema_version = 1\n" + junk)
    said = None
    try:
        read_sheet(path, CATALOGUE)
    except BadData as refused:
        said = str(refused)
    if said is None:
        assert "schema_version" in tomllib.loads(path.read_bytes().decode())
    else:
        assert "\n" not in said
