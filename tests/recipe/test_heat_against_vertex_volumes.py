"""Random heatings given in full against a solver of another make: nodes on the faces, cells between them, enthalpy,
scipy's Radau with events; every kind of platen, cooling and joint, with and without melting."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.sparse import diags

from assistant.recipe.answer import answer
from assistant.recipe.explicit import HeatFile, plan_of
from assistant.recipe.stack import ZERO_C_K

CELLS = 24  # of each layer, smaller at its faces
RELEASE, FUSION = 60.0, 150.0


class Peer:
    """Slots: upper platen, nodes of every layer from face to face, lower platen. degC throughout."""

    def __init__(self, given: dict[str, Any]) -> None:
        self.platens = given["upper"], given["lower"]
        even = np.linspace(0.0, 1.0, CELLS + 1)
        shape = 0.7 * (1 - np.cos(np.pi * even)) / 2 + 0.3 * even
        capacity, links, latent, low, wide, belt = [1.0], [], [0.0], [0.0], [1.0], [False]
        for layer, joint in zip(given["layers"], given["contacts_m2K_W"], strict=False):
            size = np.diff(shape) * layer["thickness_mm"] / 1e3
            per_m3 = layer["density_kg_m3"] * layer["heat_capacity_J_kgK"]
            capacity += list(per_m3 * (np.append(size, 0.0) + np.append(0.0, size)) / 2)
            links += [1 / joint, *(layer["conductivity_W_mK"] / size)]
            band = layer.get("melting_degC", (0.0, 1.0))
            latent += [layer.get("latent_heat_J_kg", 0.0) / layer["heat_capacity_J_kgK"]] * (CELLS + 1)
            low, wide = low + [band[0]] * (CELLS + 1), wide + [band[1] - band[0]] * (CELLS + 1)
            belt += [layer["belt"]] * (CELLS + 1)
        self.capacity = np.array([*capacity, 1.0])
        for row, platen in ((0, self.platens[0]), (-1, self.platens[1])):
            self.capacity[row] = platen.get("capacity_J_m2K", 1.0)
        self.links = np.array([*links, 1 / given["contacts_m2K_W"][-1]])
        self.latent, self.low, self.wide = (np.array([*x, x[0]]) for x in (latent, low, wide))
        self.belt = np.array([*belt, False])

    def degC(self, u: np.ndarray) -> np.ndarray:
        shape = (-1, *[1] * (u.ndim - 1))
        latent, low, wide = (x.reshape(shape) for x in (self.latent, self.low, self.wide))
        return u - latent * ((u - low) / (wide + latent)).clip(0.0, 1.0)

    def go(self, u: np.ndarray, span: tuple[float, float], laws: list[Any], goals: list[float | None]) -> Any:
        """laws: rate of each platen's own (K/s of time and degC), and whether the lay-up's heat counts in it."""

        def rate(t: float, u: np.ndarray) -> np.ndarray:
            T = self.degC(u)
            flow = self.links * (T[:-1] - T[1:])
            gain = np.append(0.0, flow) - np.append(flow, 0.0)
            for row, (law, driven) in zip((0, -1), laws, strict=True):
                gain[row] = gain[row] * driven + law(t, T[row]) * self.capacity[row]
            return gain / self.capacity

        def jacobian(_t: float, u: np.ndarray) -> Any:
            soft = np.where((u > self.low) & (u < self.low + self.wide + self.latent), self.wide / (self.wide + self.latent), 1.0)  # fmt: skip
            sums = np.append(self.links, 0.0) + np.append(0.0, self.links)
            above, below = self.links / self.capacity[:-1], self.links / self.capacity[1:]
            sums[0], above[0] = sums[0] * laws[0][1], above[0] * laws[0][1]
            sums[-1], below[-1] = sums[-1] * laws[1][1], below[-1] * laws[1][1]
            return diags(
                [above * soft[1:], -sums / self.capacity * soft, below * soft[:-1]], [1, 0, -1], format="csc"
            )

        events = []
        for row, goal in zip((0, -1), goals, strict=True):
            if goal is not None:
                events.append(lambda _t, u, row=row, goal=goal: u[row] - goal)
                events[-1].terminal, events[-1].direction = True, 1
        return solve_ivp(
            rate, span, u, method="Radau", jac=jacobian, events=events or None, dense_output=True, rtol=1e-6, atol=1e-4,
        )  # fmt: skip

    def first(self, solution: Any, value: Any) -> float | None:
        times = np.unique(np.concatenate((solution.t, (solution.t[1:] + solution.t[:-1]) / 2)))
        values = np.array([value(solution.sol(t)) for t in times])
        if not (values >= 0).any():
            return None
        at = int(np.argmax(values >= 0))
        return (
            float(brentq(lambda t: value(solution.sol(t)), times[at - 1], times[at]))
            if at
            else float(times[0])
        )


def heated(given: dict[str, Any]) -> dict[str, float]:
    """Set times, fusion, end of the dwell, cooling, by the peer."""
    peer = Peer(given)
    u = np.full(len(peer.capacity), 20.0)
    at: list[float | None] = [0.0 if p["kind"] == "hot" else None for p in peer.platens]
    u[0], u[-1] = (p["set_degC"] if p["kind"] == "hot" else 20.0 for p in peer.platens)
    now, fused = 0.0, None

    def coldest(u: np.ndarray) -> float:
        return float(peer.degC(u)[peer.belt].min() - FUSION)

    def law(platen: dict[str, Any], there: float | None) -> tuple[Any, bool]:
        if there is not None:
            return (lambda _t, _T: 0.0), False
        if platen["kind"] == "ramp":
            return (lambda _t, _T: platen["rate_K_min"] / 60), False
        return (
            lambda _t, T: (
                (platen["power_W_m2"] - platen["loss_W_m2K"] * (T - 20.0)) / platen["capacity_J_m2K"]
            )
        ), True

    while True:
        goals = [p["set_degC"] if there is None else None for p, there in zip(peer.platens, at, strict=True)]
        laws = [law(p, there) for p, there in zip(peer.platens, at, strict=True)]
        until = now + (1e4 if None in at else given["dwell_s"])
        part = peer.go(u, (now, until), laws, goals)
        fused = peer.first(part, coldest) if fused is None else fused
        now, u = float(part.t[-1]), part.y[:, -1]
        if None not in at:
            break
        for which, row in ((0, 0), (1, -1)):
            if at[which] is None and u[row] >= peer.platens[which]["set_degC"] - 1e-6:
                at[which] = now
    T = peer.degC(u)
    laws = []
    for row, platen in zip((0, -1), peer.platens, strict=True):
        cooling = platen["cooling"]
        if "tau_s" in cooling:
            laws.append(((lambda _t, T, c=cooling: (c["coolant_degC"] - T) / c["tau_s"]), False))
        else:
            per = cooling["coefficient_W_m2K"] / peer.capacity[row]
            laws.append(((lambda _t, T, c=cooling, per=per: per * (c["coolant_degC"] - T)), True))
    cooled = peer.go(u, (now, now + 3e4), laws, [None, None])
    cold = peer.first(cooled, lambda u: RELEASE - float(peer.degC(u)[peer.belt].max()))
    found = {"upper_set_s": at[0], "lower_set_s": at[1], "coldest_K": T[peer.belt].min() + ZERO_C_K}
    if fused is not None:
        found["fused_s"] = fused
    if cold is not None:
        found["belt_cold_s"] = cold - now
    return {name: float(value) for name, value in found.items() if value is not None}


def wide(low: float, high: float) -> st.SearchStrategy[float]:
    """Evenly over decades."""
    return st.floats(float(np.log10(low)), float(np.log10(high))).map(lambda x: float(10**x))


@st.composite
def layers(draw: st.DrawFn, *, belt: bool) -> dict[str, Any]:
    layer = {
        "thickness_mm": draw(wide(0.05, 8.0)), "conductivity_W_mK": draw(st.floats(0.1, 0.6) if belt else wide(0.02, 200)),
        "density_kg_m3": draw(st.floats(800, 8000)), "heat_capacity_J_kgK": draw(st.floats(400, 2400)), "belt": belt,
    }  # fmt: skip
    if draw(st.integers(0, 3)) == 0:
        start = draw(st.floats(70, 120))
        layer |= {
            "latent_heat_J_kg": draw(wide(1e4, 1.5e5)),
            "melting_degC": (start, start + draw(st.floats(5, 30))),
        }
    return layer


@st.composite
def platens(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(st.sampled_from(("hot", "ramp", "power")))
    platen: dict[str, Any] = {"kind": kind, "set_degC": draw(st.floats(165, 210))}
    cooling: dict[str, Any] = {"coolant_degC": draw(st.floats(5, 30))}
    if kind == "ramp":
        platen["rate_K_min"] = draw(st.floats(5, 60))
    if kind == "power":
        platen |= {
            "capacity_J_m2K": draw(st.floats(2e4, 8e4)), "power_W_m2": draw(st.floats(8e3, 2.5e4)),
            "loss_W_m2K": draw(st.floats(0, 12)),
        }  # fmt: skip
    if kind == "power" and draw(st.booleans()):
        cooling["coefficient_W_m2K"] = draw(wide(60, 800))
    else:
        cooling["tau_s"] = draw(wide(50, 800))
    return platen | {"cooling": cooling}


@st.composite
def heatings(draw: st.DrawFn) -> dict[str, Any]:
    stack = [
        *draw(st.lists(layers(belt=False), max_size=2)), *draw(st.lists(layers(belt=True), min_size=1, max_size=2)),
        *draw(st.lists(layers(belt=False), max_size=2)),
    ]  # fmt: skip
    return {
        "layers": tuple(stack), "contacts_m2K_W": tuple(draw(wide(1e-5, 1e-3)) for _ in range(len(stack) + 1)),
        "upper": draw(platens()), "lower": draw(platens()), "fusion_degC": FUSION, "damage_degC": 400.0,
        "release_degC": RELEASE, "dwell_s": draw(st.floats(20, 400)),
    }  # fmt: skip


@pytest.mark.slow
@settings(max_examples=3, deadline=None)
@given(heatings())
def test_any_heating_comes_out_as_with_a_solver_of_another_make(given: dict[str, Any]) -> None:
    file = HeatFile.model_validate(given)
    found, peer = answer(plan_of(file), file.error), heated(given)
    assert found.numerical_error <= 0.002
    for name, value in peer.items():
        if name.endswith("_s"):
            # class: peer library -- scipy Radau on another grid, whose own error is of its 24 cells a layer
            assert getattr(found, name) == pytest.approx(value, rel=0.004, abs=0.02), name
    assert found.at_end_of_dwell is not None
    assert found.at_end_of_dwell.coldest_K == pytest.approx(
        peer["coldest_K"], abs=0.5
    )  # class: peer library -- scipy Radau on another grid
