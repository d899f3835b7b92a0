"""One lay-up solved again by another method and another library: finite elements of second order, Crank-Nicolson."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse.linalg import splu

from assistant.recipe.conduction import Conduction, Follows
from assistant.recipe.run import Run, first_time_ever
from assistant.recipe.stack import ZERO_C_K, Stack

START_K, UPPER_K, LOWER_K = 20 + ZERO_C_K, 185 + ZERO_C_K, 175 + ZERO_C_K
STEP_S = 0.02


def elements_of(stack: Stack) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Depths of the nodes, conductivity and volumetric heat of the elements, which of them are belt.

    A contact resistance is a film of 1 micrometre without heat; the outer ones included.
    """
    depths, k, heat, belt = [0.0], [], [], []
    for i, resistance in enumerate(stack.contacts_m2K_W):
        if resistance > 0:
            depths.append(depths[-1] + 1e-6)
            k.append(1e-6 / resistance)
            heat.append(1.0)
            belt.append(False)
        if i < len(stack.layers):
            layer = stack.layers[i]
            n = 24 if layer.is_belt else 6
            depths += list(depths[-1] + layer.thickness_m * np.arange(1, n + 1) / n)
            k += [layer.conductivity_W_mK] * n
            heat += [layer.density_kg_m3 * layer.heat_capacity_J_kgK] * n
            belt += [layer.is_belt] * n
    return np.array(depths), np.array(k), np.array(heat), np.array(belt)


def test_the_two_ply_lay_up_fuses_when_finite_elements_say(stacks: dict[str, Stack]) -> None:
    skfem = pytest.importorskip("skfem", reason="the peer library scikit-fem is not installed")
    from skfem.helpers import dot, grad

    depths, k, heat, belt = elements_of(stacks["B"])
    basis = skfem.Basis(skfem.MeshLine(depths), skfem.ElementLineP2())
    scale = basis.with_element(skfem.ElementLineP0())

    @skfem.BilinearForm
    def stiffness(u, v, w):  # type: ignore[no-untyped-def]
        return w.k * dot(grad(u), grad(v))

    @skfem.BilinearForm
    def mass(u, v, w):  # type: ignore[no-untyped-def]
        return w.heat * u * v

    stiff = stiffness.assemble(basis, k=scale.interpolate(k))
    massive = mass.assemble(basis, heat=scale.interpolate(heat))
    upper = basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).all()
    lower = basis.get_dofs(lambda x: np.isclose(x[0], depths[-1])).all()
    inner = np.setdiff1d(np.arange(basis.N), np.concatenate((upper, lower)))
    nodes = np.full(basis.N, START_K)
    nodes[upper], nodes[lower] = UPPER_K, LOWER_K
    belt_dofs = np.unique(basis.element_dofs[:, belt])
    left, right = massive + STEP_S / 2 * stiff, massive - STEP_S / 2 * stiff
    damped = massive + STEP_S / 2 * stiff  # two half steps of backward Euler first, against ringing
    solve, push = splu(left[inner][:, inner].tocsc()), left[inner][:, np.concatenate((upper, lower))]
    ends = np.concatenate((nodes[upper], nodes[lower]))
    start = splu(damped[inner][:, inner].tocsc())
    for _ in range(2):
        nodes[inner] = start.solve(
            (massive @ nodes)[inner] - damped[inner][:, np.concatenate((upper, lower))] @ ends
        )
    t_s, before = STEP_S, nodes[belt_dofs].min()
    fusion_K = 160 + ZERO_C_K
    while before < fusion_K:
        nodes[inner] = solve.solve((right @ nodes)[inner] - push @ ends)
        t_s, last, before = t_s + STEP_S, before, nodes[belt_dofs].min()
    peer_s = t_s - STEP_S * (before - fusion_K) / (before - last)
    body = Conduction(stacks["B"], 4.0)
    run = Run(body).then(0.0, body.uniform(START_K), Follows(UPPER_K), Follows(LOWER_K))
    ours_s = first_time_ever(run.coldest_over_fusion_K, 0.0)
    # class: peer library -- scikit-fem, second order elements, computed here
    assert ours_s == pytest.approx(peer_s, rel=2e-3)
    assert peer_s == pytest.approx(
        21.216, rel=2e-3
    )  # class: peer library -- scikit-fem 12, as published with the lay-up
