"""The README's screenshots are what the program draws: every one is made again, none needs anything from elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from make_screenshots import HERE, MOMENTS, SIZES, main


@pytest.mark.slow
def test_every_screenshot_can_be_made_again_from_a_whole_job(tmp_path: Path) -> None:
    main(tmp_path)
    made = {path.name for path in tmp_path.iterdir()}
    assert made == {path.name for path in HERE.iterdir()}
    assert len(made) == len(MOMENTS) * len(SIZES)
    for path in tmp_path.iterdir():
        picture = path.read_text(encoding="utf-8")
        assert "SIMULATED" in picture
        assert str(tmp_path.anchor + "tmp") not in picture
        assert "url(" not in picture.replace("url(#", "")


def test_the_kept_screenshots_are_of_the_present_screen() -> None:
    for path in HERE.iterdir():
        picture = path.read_text(encoding="utf-8")
        assert "F8&#160;pedal" in picture
        assert "TYPE&#160;ONLY" in picture
