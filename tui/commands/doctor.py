"""`loopwright doctor`: what works on this machine, and how to get the rest."""

from __future__ import annotations

from pathlib import Path

import click

from tui.commands.options import a_path, as_json, print_json
from tui.plain import plain

_REAL = "-"  # the machine's own microphone


@click.command(
    "doctor",
    short_help="What works on this machine, and how to get the rest.",
    epilog="Exit codes: 0 a job can be done, if only by typing; 1 it cannot, and why, or with --microphone no voice "
    "was heard clearly.",
)
@click.option("--folder", type=a_path, help="Folder of the records, in place of the usual one.")
@click.option("--quick", is_flag=True, help="Load no model and measure nothing.")
@click.option(
    "--microphone",
    type=a_path,
    is_flag=False,
    flag_value=_REAL,
    metavar="[WAV]",
    help="Then record five seconds with a level meter, tell what was heard, play it back; WAV: a sound file in the "
    "microphone's place.",
)
@as_json
@click.pass_context
def command(
    ctx: click.Context, /, folder: Path | None, quick: bool, microphone: Path | None, as_json: bool
) -> None:
    """Looks at the program's data and the works' own, the record's folder, ears, devices, voice and terminal; loads
    the recogniser and has it hear sentences in a synthetic voice, clean and in workshop noise, to tell how quick it is
    and whether gates can be closed by voice.
    """
    from tui.doctor import Doctor

    if quick and microphone is not None:
        raise click.UsageError("Give --microphone or --quick, not both.")
    if microphone is not None and str(microphone) != _REAL:
        from speech.wavefile import read_wav

        read_wav(microphone)
    doctor = Doctor(folder, quick)
    findings = doctor.findings()
    heard: list[str] = []
    good = all(one.works for one in findings if one.needed)
    if not as_json:
        for one in findings:
            state = "works" if one.works else "BROKEN" if one.needed else "MISSING"
            click.echo(plain(f"{state:<8} {one.name:<11} {one.told}"))
    if microphone is not None:
        from tui.microphone_trial import try_microphone

        assert doctor.ear is not None  # loaded, as it is not quick
        stand_in = None if str(microphone) == _REAL else microphone
        told = heard.append if as_json else click.echo
        good = try_microphone(doctor.ear, told, doctor.voice_settings, stand_in) and good
    if as_json:
        parts = [
            {"name": one.name, "works": one.works, "needed": one.needed, "told": one.told, **one.facts}
            for one in findings
        ]
        print_json({"able": good, "parts": parts, "microphone_trial": heard})
    ctx.exit(0 if good else 1)
