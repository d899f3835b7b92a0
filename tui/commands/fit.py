"""`loopwright fit`: whether belt, press, punch, template and cloth go together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tui.commands.job_file import catalogue_of
from tui.commands.options import as_json, print_json, works_bench
from tui.commands.with_unit import measured

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import TypeVar

    Item = TypeVar("Item")


@click.command(
    "fit",
    short_help="Whether belt, press, punch and template go together.",
    epilog="Exit codes: 0 they do; 1 they do not, and why; 2 bad input.",
)
@click.option("--belt", required=True, metavar="KEY", help="Key of a belt.")
@click.option("--press", required=True, metavar="KEY", help="Key of a press.")
@click.option("--punch", required=True, metavar="KEY", help="Key of a punch.")
@click.option("--template", metavar="KEY", help="Key of a template.  [default: names those that fit]")
@click.option("--cloth", metavar="KEY", help="Key of a release cloth.")
@click.option("--thickness", type=measured(0.1, 30, "length", "mm"), help="Belt thickness as measured, mm.")
@click.option("--width", type=measured(1, 5000, "length", "mm"), help="Belt width as measured, mm.")
@works_bench
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    belt: str,
    press: str,
    punch: str,
    template: str | None,
    cloth: str | None,
    thickness: float | None,
    width: float | None,
    as_json: bool,
) -> None:
    """Every reason why they do not fit, and what fits but should be known. Keys as 'loopwright catalogue' lists them."""
    from assistant.bench import chosen, fit
    from assistant.bench.refuse import refusal

    catalogue = catalogue_of()
    a_belt, a_press = _one(catalogue.belts, "belt", belt), _one(catalogue.presses, "press", press)
    a_punch = _one(catalogue.punches, "punch", punch)
    sizes = {"belt_thickness": thickness, "belt_width": width}
    measured_off = [
        refusal(slot, size_mm / 1e3, {"belt": belt}, catalogue)
        for slot, size_mm in sizes.items()
        if size_mm is not None
    ]
    if width is not None:
        a_belt = a_belt.model_copy(update={"width_mm": width})
    if thickness is not None:
        a_belt = chosen.scaled(a_belt, thickness, catalogue)
    reasons = [reason for reason in measured_off if reason]
    reasons += fit.press_misfits(a_press, a_belt.width_mm) + fit.punch_misfits(a_punch, a_belt, a_press)
    notes: list[str] = []
    if template is not None:
        a_template = _one(catalogue.templates, "template", template)
        reasons += fit.template_misfits(a_template, a_belt, a_punch, a_press)
        notes = [] if reasons else fit.notes(a_template, a_belt, a_punch)
    if cloth is not None:
        reasons += fit.cloth_misfits(_one(catalogue.cloths, "cloth", cloth), a_belt, catalogue)
    fitting = [one.key for one in fit.fitting_templates(a_belt, a_punch, a_press, catalogue)]
    if not (reasons or fitting):
        reasons.append("No template on the bench goes with them: name one with --template to hear why.")
    if as_json:
        inputs = {"width_m": a_belt.width_mm / 1e3, "thickness_m": a_belt.thickness_mm / 1e3}
        print_json(
            {**inputs, "fits": not reasons, "reasons": reasons, "notes": notes, "fitting_templates": fitting}
        )
    else:
        click.echo("They fit." if not reasons else "They do not fit.")
        for sentence in (*reasons, *notes):
            click.echo(f"- {sentence}")
        click.echo(f"Templates that fit: {', '.join(fitting) or 'none'}")
    ctx.exit(1 if reasons else 0)


def _one(items: Mapping[str, Item], kind: str, key: str) -> Item:
    """Raises: click.BadParameter for a key that is in no file."""
    if key not in items:
        raise click.BadParameter(f"there is no {kind} '{key[:40]}'; there are {', '.join(items)}.")
    return items[key]
