"""Heat through a stack: finite volumes in space, exact in time.

The cells and the two platens are nodes. A platen either follows a given temperature (straight line or
exponential in time) or is driven: it has heat capacity, power and loss and is solved with the stack.
Each such pair of boundaries gives one linear system with constant coefficients, which is diagonalised
once; temperatures at any time are then sums of exponentials, so there is no time step and no step error.
A lay-up in which something melts is not linear and goes through `melting` on the same cells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from assistant.recipe.stack import Layer, Stack

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

CELLS_PER_ROOT_SECOND = 3.0  # cells in a layer per root of its diffusion time d2/a
FEWEST_BELT_CELLS, FEWEST_CELLS, MOST_CELLS = 8, 2, 40
EARLY_CELL = 0.3  # cell at a face, of the depth that heat has reached at the earliest time that matters
FINE_RATES = (4.0, 8.0)
GROWTH = 0.25  # of a cell's thickness with its distance from the face


@dataclass(frozen=True)
class Follows:
    """A platen of given temperature: start + slope * t, or from start towards a value with time constant tau."""

    start_K: float
    slope_K_s: float = 0.0
    towards_K: float | None = None
    tau_s: float = 1.0

    def at(self, t_s: Floats) -> Floats:
        import numpy as np

        if self.towards_K is None:
            return self.start_K + self.slope_K_s * t_s
        return self.towards_K + (self.start_K - self.towards_K) * np.exp(-t_s / self.tau_s)


@dataclass(frozen=True)
class Driven:
    """A platen that is part of the problem: C'' dT/dt = power - loss (T - around) - heat into the stack."""

    capacity_J_m2K: float
    power_W_m2: float
    loss_W_m2K: float
    around_K: float


Boundary = Follows | Driven


class Conduction:
    """A stack divided into cells, and its linear systems as they are needed.

    Nodes: upper platen, cells from top to bottom, lower platen. `fineness` 1 is the working grid,
    0.5 the halved one that measures its error. early_s: the earliest time that matters, if it is so early
    that heat is then only a little way into thick layers; their cells are made small towards their faces.
    """

    def __init__(self, stack: Stack, fineness: float = 1.0, early_s: float = math.inf) -> None:
        import numpy as np

        self.stack, self.fineness, self.early_s = stack, fineness, early_s
        sizes = [cell_sizes(layer, fineness, early_s) for layer in stack.layers]
        counts = [len(cells) for cells in sizes]
        size = np.concatenate(sizes)
        conductivity = np.repeat([layer.conductivity_W_mK for layer in stack.layers], counts)
        per_volume = np.repeat(
            [layer.density_kg_m3 * layer.heat_capacity_J_kgK for layer in stack.layers], counts
        )
        self.capacity: Floats = size * per_volume  # J/m2K of each cell
        # Latent heat as the temperature it would give without melting, K, and its band, of each cell.
        self.latent_K: Floats = np.repeat(
            [layer.latent_J_kg / layer.heat_capacity_J_kgK for layer in stack.layers], counts
        )
        self.melts_from_K: Floats = np.repeat([layer.melts_from_K for layer in stack.layers], counts)
        self.melts_to_K: Floats = np.repeat([layer.melts_to_K for layer in stack.layers], counts)
        self.melts = bool(self.latent_K.any())
        half = size / (2 * conductivity)  # m2K/W from a cell's middle to its face
        joint = np.zeros(len(size) + 1)
        ends = np.concatenate(([0], np.cumsum(counts)))
        joint[ends] = stack.contacts_m2K_W
        above, below = np.concatenate(([0.0], half)), np.concatenate((half, [0.0]))
        self.conductance: Floats = 1 / (above + joint + below)  # W/m2K between node i and i+1
        self.size = len(size) + 2
        self._systems: dict[tuple[tuple[float, float] | None, tuple[float, float] | None], _System] = {}
        self._observe(ends, above, below, sizes)

    def like(self, stack: Stack, finer: float = 1.0) -> Conduction:
        """Another lay-up on a grid of the same kind, or on one so many times finer."""
        return Conduction(stack, self.fineness * finer, self.early_s)

    def _observe(self, ends: NDArray[np.int64], above: Floats, below: Floats, sizes: list[Floats]) -> None:
        """Rows that turn node temperatures into temperatures of the belt: every cell and both faces of
        every layer, each with the fusion and damage temperature of its own layer."""
        import numpy as np

        faces: list[Floats] = []
        inside: list[tuple[Floats, Floats]] = []
        rows: list[Floats] = []
        fusion: list[float] = []
        damage: list[float] = []
        depth: list[float] = []
        z = 0.0
        for index, layer in enumerate(self.stack.layers):
            first, last = (
                int(ends[index]),
                int(ends[index + 1]),
            )  # cells first..last-1 are nodes first+1..last
            top, bottom = np.zeros(self.size), np.zeros(self.size)
            share = self.conductance[first] * below[first]  # fall from the face to the first cell
            top[first + 1], top[first] = 1 - share, share
            share = self.conductance[last] * above[last]
            bottom[last], bottom[last + 1] = 1 - share, share
            n, middles = last - first, np.cumsum(sizes[index]) - sizes[index] / 2
            layer_rows = np.array([top, *np.eye(n, self.size, first + 1), bottom])
            faces.append(layer_rows[[0, -1]])
            inside.append((np.concatenate(([0.0], middles, [layer.thickness_m])), layer_rows))
            if layer.is_belt:
                rows += [*layer_rows]
                depth += [z, *(z + middles), z + layer.thickness_m]
                fusion += [layer.fusion_K if layer.fusion_K is not None else np.nan] * (n + 2)
                damage += [layer.damage_K if layer.damage_K is not None else np.nan] * (n + 2)
                z += layer.thickness_m
        self.belt_rows: Floats = np.array(rows).reshape(-1, self.size)
        self.fusion_K: Floats = np.array(fusion)
        self.damage_K: Floats = np.array(damage)
        self.depth_m: Floats = np.array(depth)  # below the belt's upper face
        self.face_rows: Floats = np.array(faces)  # (layers, 2, size)
        self._inside = inside  # of each layer: depths in it, and the rows of its temperatures there

    def uniform(self, temperature_K: float) -> Floats:
        import numpy as np

        return np.full(self.size, temperature_K)

    def steady(self, upper_K: float, lower_K: float) -> Floats:
        """Node temperatures after a very long time between two held platens."""
        import numpy as np

        fall = np.concatenate(([0.0], np.cumsum(1 / self.conductance)))
        steady: Floats = upper_K + (lower_K - upper_K) * fall / fall[-1]
        return steady

    def settles(self, upper: Boundary, lower: Boundary) -> tuple[float, float]:
        """Temperatures of both platens after a very long time, K; infinite where heat comes and cannot leave.

        A platen that follows a straight line is taken as held where it starts.
        """
        import numpy as np

        across = float(1 / (1 / self.conductance).sum())
        matrix, right = np.array([[across, -across], [-across, across]]), np.zeros(2)
        for row, end in ((0, upper), (1, lower)):
            if isinstance(end, Driven):
                matrix[row, row] += end.loss_W_m2K
                right[row] = end.power_W_m2 + end.loss_W_m2K * end.around_K
            else:
                matrix[row] = np.eye(2)[row]
                right[row] = end.start_K if end.towards_K is None else end.towards_K
        if np.linalg.cond(matrix) > 1e13:  # two driven platens without losses
            return math.inf, math.inf
        found = np.linalg.solve(matrix, right)
        return float(found[0]), float(found[1])

    def faces(self, nodes: Floats) -> Floats:
        """Temperatures of the upper and the lower face of every layer, K; shape (layers, 2, ...) of nodes (size, ...)."""
        return self.face_rows @ nodes

    def at_depth(self, depth_m: float) -> Floats:
        """Row that turns nodes into the temperature so deep below the lay-up's upper face; at a joint, that of
        the layer below it. Cubic between the faces and the cells' middles of the layer."""
        import numpy as np

        bottoms = np.cumsum([layer.thickness_m for layer in self.stack.layers])
        last = len(bottoms) - 1
        index = min(int(np.searchsorted(bottoms, depth_m * (1 + 1e-12), side="right")), last)
        depths, rows = self._inside[index]
        left = depth_m - (bottoms[index] - self.stack.layers[index].thickness_m)
        first = int(np.clip(np.searchsorted(depths, left) - 2, 0, max(len(depths) - 4, 0)))
        near = depths[first : first + 4]
        weights = [
            np.prod([(left - other) / (here - other) for other in near if other != here]) for here in near
        ]
        row: Floats = np.array(weights) @ rows[first : first + 4]
        return row

    def belt(self, nodes: Floats) -> Floats:
        """Belt temperatures, K; nodes (size,) or (size, times)."""
        return self.belt_rows @ nodes

    def stored_J_m2(self, nodes: Floats, start_K: float) -> Floats:
        """Heat in the lay-up above `start_K`, melting included, without the platens; nodes (size,)."""
        taken: Floats = self._taken_J_m2(nodes, start_K).sum()
        return taken

    def through_J_m2(self, nodes: Floats, start_K: float, apart_Ks: float) -> tuple[float, float]:
        """Heat that has come in through the upper and the lower face since all was at `start_K`.

        Exact on the grid: heat weighted with the settled profile w between 1 (upper) and 0 changes only by what
        comes in above and by what goes across. apart_Ks: integral of upper less lower platen over time, K s.
        """
        taken = self._taken_J_m2(nodes, start_K)
        weight = self.steady(1.0, 0.0)[1:-1]
        across = float(1 / (1 / self.conductance).sum()) * apart_Ks
        return float(taken @ weight) + across, float(taken @ (1 - weight)) - across

    def _taken_J_m2(self, nodes: Floats, start_K: float) -> Floats:
        import numpy as np

        taken: Floats = self.capacity * (nodes[1:-1] - start_K)
        if self.melts:
            molten = self.melted(nodes[1:-1]) - self.melted(np.full(len(self.capacity), start_K))
            taken = taken + self.capacity * self.latent_K * molten
        return taken

    def melted(self, cells_K: Floats) -> Floats:
        """Share of each cell that has melted, 0 to 1; cells (cells,) or (cells, times)."""
        band = (self.melts_to_K - self.melts_from_K).clip(min=1e-9)
        from_K = self.melts_from_K
        if cells_K.ndim == 2:
            band, from_K = band[:, None], from_K[:, None]
        share: Floats = ((cells_K - from_K) / band).clip(0.0, 1.0)
        return share

    def system(self, upper: Boundary, lower: Boundary) -> _System:
        key = (_kind(upper), _kind(lower))
        if key not in self._systems:
            self._systems[key] = _System(self, *key)
        return self._systems[key]

    @cached_property
    def decay_rates_1_s(self) -> Floats:
        """Decay rates between two held platens, slowest first."""
        return self.system(Follows(0.0), Follows(0.0)).rate


def slowest_rates_1_s(stack: Stack, number: int = 5) -> tuple[float, ...]:
    """The slowest decay rates between two held platens, 1/s: of two fine grids, drawn on to none."""
    from scipy.linalg import eigh_tridiagonal

    found = []
    for fineness in FINE_RATES:
        body = Conduction(stack, fineness)
        g, capacity = body.conductance, body.capacity
        most = min(number, len(capacity)) - 1
        found.append(
            eigh_tridiagonal(
                (g[:-1] + g[1:]) / capacity, -g[1:-1] / (capacity[:-1] * capacity[1:]) ** 0.5,
                eigvals_only=True, select="i", select_range=(0, most),
            )
        )  # fmt: skip
    coarse, fine = found
    return tuple(float(rate) for rate in fine + (fine - coarse) / 3)


def cell_sizes(layer: Layer, fineness: float, early_s: float = math.inf) -> Floats:
    """Thickness of each cell of a layer, m, from top to bottom.

    Alike, unless heat has gone less than a few of them deep at `early_s`: then they grow from the faces
    inwards, each by a share of its distance from the face, until they are as large as the others.
    """
    import numpy as np

    # Even, so that the halved grid has half of them.
    pairs = math.ceil(CELLS_PER_ROOT_SECOND / 2 * layer.thickness_m / layer.diffusivity_m2_s**0.5)
    usual = min(MOST_CELLS, max(FEWEST_BELT_CELLS if layer.is_belt else FEWEST_CELLS, 2 * pairs))
    large_m = layer.thickness_m / usual
    small_m = EARLY_CELL * (layer.diffusivity_m2_s * early_s) ** 0.5
    if small_m >= large_m:
        return np.full(max(1, round(fineness * usual)), layer.thickness_m / max(1, round(fineness * usual)))
    half_m = layer.thickness_m / 2
    grown_m = min(half_m, (large_m - small_m) / GROWTH)  # from there on all alike
    growing = math.log1p(GROWTH * grown_m / small_m) / GROWTH  # cells on the way
    even = 2 * max(1, round((growing + (half_m - grown_m) / large_m) / 2))
    number = max(1, round(fineness * even))
    at = np.linspace(0.0, growing + (half_m - grown_m) / large_m, number + 1)
    faces = np.where(
        at <= growing,
        small_m * np.expm1(GROWTH * np.minimum(at, growing)) / GROWTH,
        grown_m + (at - growing) * large_m,
    )
    sizes = np.diff(faces / faces[-1] * half_m)
    return np.concatenate((sizes, sizes[::-1]))


def _kind(boundary: Boundary) -> tuple[float, float] | None:
    return (boundary.capacity_J_m2K, boundary.loss_W_m2K) if isinstance(boundary, Driven) else None


class _System:
    """C dT/dt = -K T + sources for the free nodes, made symmetric and diagonal."""

    def __init__(
        self, body: Conduction, upper: tuple[float, float] | None, lower: tuple[float, float] | None
    ) -> None:
        import numpy as np
        from scipy.linalg import eigh_tridiagonal

        n, g = body.size, body.conductance
        capacity = np.concatenate(([upper[0] if upper else 1.0], body.capacity, [lower[0] if lower else 1.0]))
        outflow = np.concatenate(([upper[1] if upper else 0.0], g)) + np.concatenate(
            (g, [lower[1] if lower else 0.0])
        )
        self.free = slice(0 if upper else 1, n if lower else n - 1)
        root = np.sqrt(capacity[self.free])
        links = g[(0 if upper else 1) : (n - 1 if lower else n - 2)]
        found = eigh_tridiagonal((outflow / capacity)[self.free], -links / (root[:-1] * root[1:]))
        self.rate: Floats = np.array(found[0], dtype=np.float64).clip(min=0.0)
        vectors: Floats = np.array(found[1], dtype=np.float64)
        self.to_modes: Floats = (vectors * root[:, None]).T  # temperatures -> amplitudes
        self.from_modes: Floats = vectors / root[:, None]
        sources = np.zeros((n, 2))  # what one kelvin (held) or one W/m2 (driven) of each end does
        sources[0 if upper else 1, 0] = 1.0 if upper else g[0]
        sources[-1 if lower else -2, 1] = 1.0 if lower else g[-1]
        self.source: Floats = self.from_modes.T @ sources[self.free]


class Segment:
    """The stack from one moment on, under boundaries that keep their law. Times count from that moment."""

    def __init__(self, body: Conduction, nodes: Floats, upper: Boundary, lower: Boundary) -> None:
        self.body, self.ends = body, (upper, lower)
        self._system = body.system(upper, lower)
        self._start = self._system.to_modes @ nodes[self._system.free]

    def nodes(self, t_s: Floats) -> Floats:
        """Node temperatures [K], shape (size, times)."""
        import numpy as np

        t = np.atleast_1d(np.asarray(t_s, dtype=float))
        system = self._system
        x = np.outer(system.rate, t)
        gone = np.exp(-x)
        settled = t * _rise(x)
        modes = self._start[:, None] * gone
        for column, end in enumerate(self.ends):
            push = system.source[:, column][:, None]
            if isinstance(end, Driven):
                modes = modes + push * (end.power_W_m2 + end.loss_W_m2K * end.around_K) * settled
            elif end.towards_K is None:
                modes = modes + push * end.start_K * settled
                if end.slope_K_s:
                    modes = modes + push * end.slope_K_s * _ramped(x, t, settled, system.rate)
            else:
                modes = modes + push * end.towards_K * settled
                slower = np.exp(-np.minimum(x, t / end.tau_s))
                decay = slower * t * _rise(np.abs(x - t / end.tau_s))
                modes = modes + push * (end.start_K - end.towards_K) * decay
        out = np.empty((self.body.size, len(t)))
        out[system.free] = system.from_modes @ modes
        for row, end in zip((0, -1), self.ends, strict=True):
            if isinstance(end, Follows):
                out[row] = end.at(t)
        return out


def _rise(x: Floats) -> Floats:
    """(1 - exp(-x)) / x, 1 at 0."""
    import numpy as np

    safe = np.where(x > 1e-12, x, 1.0)
    return np.where(x > 1e-12, -np.expm1(-safe) / safe, 1.0)


def _ramped(x: Floats, t: Floats, settled: Floats, rate: Floats) -> Floats:
    """Integral of exp(-rate (t - s)) s over s from 0 to t."""
    import numpy as np

    safe = np.where(rate > 0, rate, 1.0)[:, None]
    return np.where(x > 1e-5, (t - settled) / safe, t**2 / 2 * (1 - x / 3))
