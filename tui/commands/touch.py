"""`loopwright touch`: what a temperature means to a hand."""

from __future__ import annotations

from typing import Literal, cast

import click

from tui.commands.options import as_json, between, print_json
from tui.commands.with_unit import measured

_ZERO_C_K = 273.15


@click.command(
    "touch",
    context_settings={"ignore_unknown_options": True},
    short_help="What a temperature means to a hand.",
    epilog="Exit codes: 0 told; 2 bad input.",
)
@click.argument("degc", metavar="DEGC", type=measured(-100, 400, "temperature", "c"))
@click.option("--contact", type=between(0.1, 100_000), help="Seconds of contact: the least that burns then.")
@click.option("--surface", type=click.Choice(["metal", "plastic"]), default="metal", show_default=True)
@click.option(
    "--effusivity", type=between(1, 100_000), help="Of the surface, J/m²K√s: the skin's face at first touch."
)
@as_json
def command(
    degc: float, contact: float | None, surface: str, effusivity: float | None, as_json: bool
) -> None:
    """Words for a surface at DEGC °C, and burn thresholds after ISO 13732-1 (from memory).

    Never a reason to let the pressure out: that is a matter of the weld.
    """
    from assistant.recipe.touch import burn_threshold, skin_face, touch

    kind = cast("Literal['metal', 'plastic']", surface)
    result: dict[str, float | str] = {"surface_K": degc + _ZERO_C_K, "touch": touch(degc + _ZERO_C_K)}
    if contact is not None:
        result |= {"contact_s": contact, "burns_from_K": burn_threshold(contact, kind)}
    if effusivity is not None:
        result["skin_K"] = skin_face(degc + _ZERO_C_K, effusivity)
    if as_json:
        print_json(result)
        return
    click.echo(f"{round(degc, 1):g} °C: {result['touch']}")
    if contact is not None:
        burns_degC = burn_threshold(contact, kind) - _ZERO_C_K
        click.echo(f"{surface.capitalize()} burns in {contact:g} s from {burns_degC:g} °C on (from memory)")
    if effusivity is not None:
        click.echo(f"The skin's face would be at {float(result['skin_K']) - _ZERO_C_K:.1f} °C at first touch")
