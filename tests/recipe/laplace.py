"""A lay-up solved exactly in the Laplace domain and inverted by numbers: no grid, no step; for tests only.

Each layer is its exact two-port (coth and 1/sinh), joints are resistances; the faces' temperatures are one
small linear system for each s. Talbot's contour brings them back to time (Abate & Valko, Int. J. Numer.
Meth. Engng 60 (2004) 979).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from assistant.recipe.stack import Stack

TERMS = 32
Transform = Callable[[np.ndarray], np.ndarray]


def step(kelvin: float) -> Transform:
    return lambda s: kelvin / s


def ramp(kelvin_per_s: float) -> Transform:
    return lambda s: kelvin_per_s / s**2


def decay(kelvin: float, tau_s: float) -> Transform:
    """kelvin (1 - exp(-t / tau))."""
    return lambda s: kelvin / s - kelvin / (s + 1 / tau_s)


def belt_at(stack: Stack, upper: Transform, lower: Transform, t_s: float, points: int = 41) -> np.ndarray:
    """Rise of the belt's temperature over a uniform start, at `points` depths of each belt layer, top to bottom."""
    k = np.arange(TERMS)
    theta = k * np.pi / TERMS
    delta = np.empty(TERMS, dtype=complex)
    delta[0] = 2 * TERMS / 5
    delta[1:] = 2 * k[1:] * np.pi / 5 * (1 / np.tan(theta[1:]) + 1j)
    weight = np.empty(TERMS, dtype=complex)
    weight[0] = 0.5 * np.exp(delta[0])
    cot = 1 / np.tan(theta[1:])
    weight[1:] = (1 + 1j * theta[1:] * (1 + cot**2) - 1j * cot) * np.exp(delta[1:])
    s = delta / t_s
    values = _in_s(stack, upper, lower, s, points)
    found: np.ndarray = (2 / (5 * t_s)) * (weight[:, None] * values).real.sum(axis=0)
    return found


def _in_s(stack: Stack, upper: Transform, lower: Transform, s: np.ndarray, points: int) -> np.ndarray:
    n = len(stack.layers)
    out = []
    for one in s:
        root = [np.sqrt(one / layer.diffusivity_m2_s) for layer in stack.layers]
        matrix, right = np.zeros((2 * n, 2 * n), dtype=complex), np.zeros(2 * n, dtype=complex)
        for i, layer in enumerate(stack.layers):
            top, bottom = 2 * i, 2 * i + 1
            md = root[i] * layer.thickness_m
            y = layer.conductivity_W_mK * root[i]
            fade = np.exp(-md)
            coth, csch = (1 + fade**2) / (1 - fade**2), 2 * fade / (1 - fade**2)
            # Heat into the layer through its faces: top  y (coth T_top - csch T_bottom), bottom alike.
            matrix[top, top] += y * coth
            matrix[top, bottom] -= y * csch
            matrix[bottom, bottom] += y * coth
            matrix[bottom, top] -= y * csch
        for i, resistance in enumerate(stack.contacts_m2K_W):
            g = 1 / max(resistance, 1e-9)  # a perfect joint as a very good one
            above, below = 2 * i - 1, 2 * i
            if i > 0:
                matrix[above, above] += g
            if i < n:
                matrix[below, below] += g
            if 0 < i < n:
                matrix[above, below] -= g
                matrix[below, above] -= g
            if i == 0:
                right[below] += g * upper(one)
            if i == n:
                right[above] += g * lower(one)
        faces = np.linalg.solve(matrix, right)
        row = []
        for i, layer in enumerate(stack.layers):
            if layer.is_belt:
                z = np.linspace(0.0, layer.thickness_m, points)
                m, d = root[i], layer.thickness_m
                down = (np.exp(-m * z) - np.exp(-m * (2 * d - z))) / (1 - np.exp(-2 * m * d))
                up = (np.exp(-m * (d - z)) - np.exp(-m * (d + z))) / (1 - np.exp(-2 * m * d))
                row.append(faces[2 * i] * down + faces[2 * i + 1] * up)
        out.append(np.concatenate(row))
    return np.array(out)
