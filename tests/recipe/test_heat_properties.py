"""What must hold for any lay-up: heat is conserved, answers are linear, mirrored, bounded, and do not
depend on how a layer is described."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.recipe.conduction import Conduction, Driven, Follows, Segment
from assistant.recipe.not_computable import NotComputable
from assistant.recipe.plan import Plan, PlatenPlan
from assistant.recipe.plan_exact import fine_enough
from assistant.recipe.platen import hot_fusion_time
from assistant.recipe.run import Run
from assistant.recipe.stack import Layer, Sheet, Stack, homogenise

plastics = st.builds(
    Layer,
    st.floats(0.1e-3, 4e-3),
    st.floats(0.1, 0.5),
    st.floats(900, 2200),
    st.floats(900, 2400),
    st.just(True),
    st.just(430.0),
    st.just(480.0),
)
metals = st.builds(
    Layer, st.floats(1e-3, 6e-3), st.sampled_from((15.0, 50.0, 170.0)), st.just(2700.0), st.just(900.0)
)
resistances = st.floats(0, 5e-4)


@st.composite
def lay_ups(draw: st.DrawFn) -> Stack:
    layers = (draw(metals), *draw(st.lists(plastics, min_size=1, max_size=4)), draw(metals))
    return Stack(layers, tuple(draw(resistances) for _ in range(len(layers) + 1)))


temperatures = st.floats(300, 500)
few = settings(max_examples=30, deadline=None)


def held(stack: Stack, start_K: float, upper_K: float, lower_K: float, fineness: float = 1.0) -> Run:
    body = Conduction(stack, fineness)
    return Run(body).then(0.0, body.uniform(start_K), Follows(upper_K), Follows(lower_K))


@few
@given(lay_ups(), temperatures, temperatures)
def test_the_heat_that_goes_in_is_the_heat_that_is_stored(
    stack: Stack, upper_K: float, lower_K: float
) -> None:
    """Driven platens without loss: all the power is found again, to rounding."""
    body = Conduction(stack)
    nodes = body.uniform(300.0)
    power = (upper_K * 10, lower_K * 10)
    ends = tuple(Driven(30000.0, watts, 0.0, 300.0) for watts in power)
    after = Segment(body, nodes, ends[0], ends[1]).nodes(np.array([200.0]))[:, 0]
    stored = float(body.stored_J_m2(after, 300.0)) + 30000.0 * float(after[0] + after[-1] - 600.0)
    assert stored == pytest.approx(sum(power) * 200.0, rel=1e-7)


@few
@given(lay_ups(), temperatures, temperatures)
def test_heat_through_the_faces_of_held_platens_is_stored(
    stack: Stack, upper_K: float, lower_K: float
) -> None:
    run = held(stack, 300.0, upper_K, lower_K)
    times = np.concatenate(([0.0], np.geomspace(1e-5, 100.0, 6000)))
    nodes = run.nodes(times)
    g = run.body.conductance
    flux = g[0] * (nodes[0] - nodes[1]) + g[-1] * (nodes[-1] - nodes[-2])
    stored = float(run.body.stored_J_m2(nodes[:, -1], 300.0))
    scale = float(run.body.capacity.sum()) * 100
    assert float(np.trapezoid(flux, times)) == pytest.approx(stored, rel=1e-3, abs=1e-5 * scale)


@few
@given(lay_ups(), temperatures, temperatures, st.floats(1, 300))
def test_temperatures_add_up(stack: Stack, upper_K: float, lower_K: float, t_s: float) -> None:
    both = held(stack, 290.0, upper_K, lower_K).belt(t_s)
    parts = held(stack, 290.0, upper_K, 0.0).belt(t_s) + held(stack, 0.0, 0.0, lower_K).belt(t_s)
    assert both == pytest.approx(parts, rel=1e-8)


@few
@given(lay_ups(), temperatures, temperatures, st.floats(0.5, 300))
def test_a_mirrored_lay_up_gives_the_mirrored_answer(
    stack: Stack, upper_K: float, lower_K: float, t_s: float
) -> None:
    straight = held(stack, 290.0, upper_K, lower_K).belt(t_s)[:, 0]
    mirrored = held(stack.mirrored(), 290.0, lower_K, upper_K).belt(t_s)[:, 0]
    assert straight == pytest.approx(mirrored[::-1], rel=1e-8)


@few
@given(lay_ups(), temperatures, temperatures)
def test_nothing_is_hotter_than_the_hotter_platen_or_colder_than_the_start(
    stack: Stack, upper_K: float, lower_K: float
) -> None:
    run = held(stack, 290.0, upper_K, lower_K)
    belt = run.belt(np.geomspace(0.01, 1000.0, 60))
    assert belt.max() <= max(upper_K, lower_K) + 1e-6
    assert belt.min() >= 290.0 - 1e-6


@few
@given(lay_ups(), st.floats(0.2, 0.8), st.floats(5, 100))
def test_splitting_a_layer_in_two_changes_nothing(stack: Stack, share: float, t_s: float) -> None:
    thick = stack.layers[1]
    pieces = (
        replace(thick, thickness_m=thick.thickness_m * share),
        replace(thick, thickness_m=thick.thickness_m * (1 - share)),
    )
    split = Stack(
        (stack.layers[0], *pieces, *stack.layers[2:]),
        (*stack.contacts_m2K_W[:2], 0.0, *stack.contacts_m2K_W[2:]),
    )
    whole, parted = (held(s, 290.0, 460.0, 440.0, 4.0) for s in (stack, split))
    ends = [(0, 0), (-1, -1)]
    for here, there in ends:
        assert whole.belt(t_s)[here, 0] == pytest.approx(parted.belt(t_s)[there, 0], abs=0.15)


@few
@given(lay_ups(), st.floats(2e-5, 4e-4), st.floats(2, 100))
def test_a_contact_resistance_is_a_thin_film_without_mass(
    stack: Stack, resistance: float, t_s: float
) -> None:
    film = Layer(1e-5, 1e-5 / resistance, 100.0, 100.0)
    bare = (*stack.contacts_m2K_W[:1], 0.0, *stack.contacts_m2K_W[2:])
    filmed = Stack((stack.layers[0], film, *stack.layers[1:]), (bare[0], 0.0, 0.0, *bare[2:]))
    joined = Stack(stack.layers, (bare[0], resistance, *bare[2:]))
    found = held(filmed, 290.0, 460.0, 440.0).belt(t_s)
    assert found == pytest.approx(held(joined, 290.0, 460.0, 440.0).belt(t_s), abs=0.05)


@few
@given(lay_ups())
def test_more_belt_never_fuses_sooner(stack: Stack) -> None:
    times = [
        hot_fusion_time(Conduction(stack.changed(belt_thicker_m=more)), 290.0, 460.0, 455.0)
        for more in (0.0, 0.3e-3, 0.8e-3)
    ]
    known = [t for t in times if t is not None]
    assert len(known) in (0, 3)
    assert all(later >= sooner * (1 - 2e-3) for sooner, later in pairwise(known))


@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_the_conductivity_of_the_aluminium_does_not_matter(stacks: dict[str, Stack], factor: float) -> None:
    for stack in stacks.values():
        others = tuple(
            layer
            if layer.conductivity_W_mK < 100
            else replace(layer, conductivity_W_mK=layer.conductivity_W_mK * factor)
            for layer in stack.layers
        )
        first, second = (
            hot_fusion_time(Conduction(lay_up), 293.15, 448.15, 448.15)
            for lay_up in (stack, Stack(others, stack.contacts_m2K_W))
        )
        assert first == pytest.approx(second, rel=0.02)


@few
@given(lay_ups(), st.floats(0.01, 2.0), st.floats(1.0, 400.0))
def test_a_followed_exponential_is_a_chain_of_short_straight_pieces(
    stack: Stack, slope: float, tau_s: float
) -> None:
    """Two laws of a platen, checked against each other."""
    body = Conduction(stack)
    law = Follows(300.0 + 100 * slope, towards_K=300.0, tau_s=tau_s)
    exact = Run(body).then(0.0, body.uniform(300.0), law, law).now(50.0)
    nodes, moments = body.uniform(300.0), np.linspace(0.0, 50.0, 401)
    values = law.at(moments)
    for i in range(400):
        piece = Follows(float(values[i]), float(values[i + 1] - values[i]) / 0.125)
        nodes = Run(body).then(0.0, nodes, piece, piece).now(0.125)
    assert exact == pytest.approx(nodes, abs=0.02 * (1 + 100 * slope / tau_s**2))


def test_a_ply_is_the_mixture_of_fibre_and_matrix() -> None:
    fibre = Sheet(0.20, 1380, 1200)
    ply = homogenise(fibre, Sheet(0.16, 1250, 1500), 0.6)
    assert ply.conductivity_W_mK == pytest.approx(0.1829, abs=1e-4)  # class: analytic -- geometric mean
    assert ply.density_kg_m3 == pytest.approx(1328)  # class: analytic -- rule of mixtures
    assert ply.heat_capacity_J_kgK == pytest.approx(1313, abs=0.5)  # class: analytic -- rule of mixtures
    ply = homogenise(fibre, Sheet(0.19, 1180, 1850), 0.6)
    found = (ply.conductivity_W_mK, ply.density_kg_m3, ply.heat_capacity_J_kgK)
    assert found == pytest.approx((0.1960, 1300, 1436), rel=1e-3)  # class: analytic -- rule of mixtures


@pytest.mark.parametrize(
    "change",
    [
        {"thickness_m": 0.0},
        {"conductivity_W_mK": -1.0},
        {"density_kg_m3": 0.0},
        {"heat_capacity_J_kgK": float("nan")},
    ],
)
def test_an_impossible_layer_is_refused_in_a_sentence(change: dict[str, float]) -> None:
    with pytest.raises(NotComputable, match=r"must be above zero"):
        Layer(
            **{
                "thickness_m": 1e-3,
                "conductivity_W_mK": 0.2,
                "density_kg_m3": 1e3,
                "heat_capacity_J_kgK": 1e3,
                **change,
            }
        )


def test_fusion_above_damage_negative_contact_and_a_missing_joint_are_refused() -> None:
    with pytest.raises(NotComputable, match="fusion must lie below damage"):
        Layer(1e-3, 0.2, 1e3, 1e3, True, 480.0, 470.0)
    belt = Layer(1e-3, 0.2, 1e3, 1e3)
    with pytest.raises(NotComputable, match="below zero"):
        Stack((belt,), (0.0, -1e-4))
    with pytest.raises(NotComputable, match="needs 2 joints"):
        Stack((belt,), (0.0,))
    with pytest.raises(NotComputable, match="between 0 and 1"):
        homogenise(Sheet(0.2, 1e3, 1e3), Sheet(0.2, 1e3, 1e3), 1.5)


@pytest.mark.slow
@few
@given(lay_ups(), st.floats(0.3, 3.0))
def test_twice_as_thick_with_twice_the_contact_takes_four_times_as_long(stack: Stack, factor: float) -> None:
    """Fourier numbers decide: lengths and resistances times a factor, times its square; whatever the lay-up."""
    layers = tuple(replace(layer, thickness_m=layer.thickness_m * factor) for layer in stack.layers)
    scaled = Stack(layers, tuple(joint * factor for joint in stack.contacts_m2K_W))
    here, there = (fine_enough(hot_plan(s), 5e-4)[0].fused_s for s in (stack, scaled))
    assert here is not None
    assert there == pytest.approx(
        here * factor**2, rel=2e-3
    )  # class: analytic -- similarity of the heat equation


@few
@given(lay_ups(), temperatures, st.floats(0.0, 40.0))
def test_hotter_platens_never_fuse_later(stack: Stack, upper_K: float, more_K: float) -> None:
    times = [hot_fusion_time(Conduction(stack), 290.0, upper_K + add, upper_K + add) for add in (0.0, more_K)]
    if times[0] is not None:
        assert times[1] is not None
        assert times[1] <= times[0] * (1 + 1e-6)


@few
@given(lay_ups(), st.floats(5e3, 3e4), st.floats(0.0, 15.0), st.floats(60, 900))
def test_what_driven_platens_give_is_stored_or_lost(
    stack: Stack, power: float, loss: float, t_s: float
) -> None:
    """To a thousandth: power in, less what is lost, is what platens and lay-up hold."""
    body = Conduction(stack)
    ends = Driven(36000.0, power, loss, 290.0), Driven(30000.0, 0.8 * power, loss, 290.0)
    run = Run(body).then(0.0, body.uniform(290.0), *ends)
    times = np.linspace(0.0, t_s, 2001)
    nodes = run.nodes(times)
    lost = sum(loss * float(np.trapezoid(nodes[row] - 290.0, times)) for row in (0, -1))
    held_heat = float(body.stored_J_m2(nodes[:, -1], 290.0))
    held_heat += 36000.0 * float(nodes[0, -1] - 290.0) + 30000.0 * float(nodes[-1, -1] - 290.0)
    assert held_heat + lost == pytest.approx(1.8 * power * t_s, rel=1e-3)  # class: analytic -- energy balance


def hot_plan(stack: Stack) -> Plan:
    return Plan(stack, PlatenPlan(460.0, 460.0), PlatenPlan(455.0, 455.0), 290.0, 60.0)
