"""Heat through a stack in which something melts: the same cells, in enthalpy, with a stiff integrator.

Each cell's heat content is kept as the temperature u it would have without melting: u = T + (latent/cp) x
share molten. T follows from u without a jump, so no step can leap over the melting band. LSODA (odeint of
scipy) chooses the steps for the tolerance; on a halved grid the tolerance is loosened too, so that halving
measures the error of grid and steps together. On cooling the heat comes back over the same band: a melt
that stays liquid below it (undercooling) is left out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Boundary, Conduction, Driven, Follows

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

TOLERANCE = 1e-6  # of u, on the working grid; 32 times that on the halved one
TOLERANCE_K = 1e-4
LOOSER = 5  # power of the fineness below 1 by which the tolerance is looser
MOST_STEPS = 20000
CLOSE = 0.005  # from one kept time to the next, of the time since the boundaries changed; on the halved grid 4 times that
FIRST_S = 1e-3  # the first kept time


class Melting:
    """The stack from one moment on, under boundaries that keep their law. Times count from that moment.

    Integrated once, as far as anybody has asked, and kept at times close to each other: between them it is cubic.
    """

    def __init__(self, body: Conduction, nodes: Floats, upper: Boundary, lower: Boundary) -> None:
        import numpy as np

        self.body, self.ends = body, (upper, lower)
        self._capacity = np.concatenate(([1.0], body.capacity, [1.0]))
        self._loss, self._power = np.zeros(body.size), np.zeros(body.size)
        for row, end in ((0, upper), (-1, lower)):
            if isinstance(end, Driven):
                self._capacity[row], self._loss[row] = end.capacity_J_m2K, end.loss_W_m2K
                self._power[row] = end.power_W_m2 + end.loss_W_m2K * end.around_K
        self._per_capacity = 1 / self._capacity
        self._held = np.array([not isinstance(end, Driven) for end in (upper, lower)])
        self._follow = [
            (row, end, None if end.towards_K is not None or end.slope_K_s else end.start_K)
            for row, end in ((0, upper), (-1, lower))
            if isinstance(end, Follows)
        ]
        self._per_capacity[[0, -1]] *= ~self._held  # a held platen follows its law
        band_K = (body.melts_to_K - body.melts_from_K).clip(min=1e-9)
        self._width = band_K + body.latent_K  # of the band, in u
        melting = np.flatnonzero(body.latent_K)
        cells = slice(int(melting.min(initial=body.size)), int(melting.max(initial=0)) + 1)
        self._melting = slice(cells.start + 1, cells.stop + 1)  # the same as nodes
        self._from_K, self._per_width = body.melts_from_K[cells], 1 / self._width[cells]
        self._latent_K = body.latent_K[cells]
        self._times: Floats = np.array([0.0])
        self._known: Floats = self._to_u(nodes)[None, :]  # (times, size)
        self._slopes: Floats = self._rate(0.0, self._known[0])[None, :]

    def nodes(self, t_s: Floats) -> Floats:
        """Node temperatures [K], shape (size, times)."""
        import numpy as np

        t = np.atleast_1d(np.asarray(t_s, dtype=float))
        if t.max() > self._times[-1] or len(self._times) == 1:
            self._go_on_to(float(t.max()))
        after = np.searchsorted(self._times, t).clip(1)
        begin, end = self._times[after - 1], self._times[after]
        length = (end - begin)[:, None]
        share = (t - begin)[:, None] / length
        rest = 1 - share
        u = (
            rest**2 * (1 + 2 * share) * self._known[after - 1] + share**2 * (1 + 2 * rest) * self._known[after]
            + share * rest * length * (rest * self._slopes[after - 1] - share * self._slopes[after])
        )  # fmt: skip
        if (early := (t > 0) & (t < self._times[1])).any():  # too steep for a cubic
            moments, back = np.unique(np.concatenate(([0.0], t[early])), return_inverse=True)
            u[early] = self._integrate(self._known[0], moments)[back[1:]]
        return self._to_nodes(t, u).T

    def _go_on_to(self, end_s: float) -> None:
        import numpy as np

        begin, close = float(self._times[-1]), CLOSE / min(self.body.fineness, 1.0) ** 2
        first = max(begin * (1 + close), FIRST_S)
        steps = max(1, math.ceil(math.log(max(end_s / first, 1.0)) / math.log1p(close)))
        later = (
            np.geomspace(first, max(end_s, first), steps + 1)
            if end_s > first
            else np.array([max(end_s, FIRST_S)])
        )
        moments = np.concatenate(([begin], later))
        found = self._integrate(self._known[-1], moments)[1:]
        self._times = np.concatenate((self._times, later))
        self._known = np.concatenate((self._known, found))
        self._slopes = np.concatenate((self._slopes, self._rate(later, found)))

    def _integrate(self, u: Floats, moments: Floats) -> Floats:
        from scipy.integrate import odeint

        loose = 1.0 / min(self.body.fineness, 1.0) ** LOOSER
        found: Floats = odeint(
            self._rate, u, moments, Dfun=self._bands, tfirst=True, ml=1, mu=1, rtol=TOLERANCE * loose,
            atol=TOLERANCE_K * loose, mxstep=MOST_STEPS,
        )  # fmt: skip
        return found

    def _rate(self, t_s: float | Floats, u: Floats) -> Floats:
        """Of u, K/s; at one time with u (size,), or at many with u (times, size)."""
        nodes = self._to_nodes(t_s, u)
        flow = self.body.conductance * (nodes[..., :-1] - nodes[..., 1:])  # W/m2, downwards
        rate: Floats = self._power - self._loss * nodes
        rate[..., :-1] -= flow
        rate[..., 1:] += flow
        rate *= self._per_capacity
        return rate

    def _bands(self, _t_s: float, u: Floats) -> Floats:
        """Derivatives of the rate, banded: row i - j + 1, column j holds that of node i with respect to node j."""
        import numpy as np

        g, ends = self.body.conductance, self.ends
        loss = np.concatenate((g, [0.0])) + np.concatenate(([0.0], g))
        for row, end in ((0, ends[0]), (-1, ends[1])):
            if isinstance(end, Driven):
                loss[row] += end.loss_W_m2K
        bands = np.zeros((3, len(u)))
        bands[0, 1:], bands[1], bands[2, :-1] = (
            g / self._capacity[:-1],
            -loss / self._capacity,
            g / self._capacity[1:],
        )
        inside = (u[1:-1] > self.body.melts_from_K) & (u[1:-1] < self.body.melts_from_K + self._width)
        bands[:, 1:-1] *= np.where(inside, 1 - self.body.latent_K / self._width, 1.0)
        if self._held[0]:  # neither changes nor is changed: it follows its law
            bands[1, 0] = bands[0, 1] = bands[2, 0] = 0.0
        if self._held[1]:
            bands[1, -1] = bands[2, -2] = bands[0, -1] = 0.0
        return bands

    def _to_nodes(self, t_s: float | Floats, u: Floats) -> Floats:
        import numpy as np

        nodes = u.copy()
        molten = (u[..., self._melting] - self._from_K) * self._per_width
        np.maximum(molten, 0.0, out=molten)
        np.minimum(molten, 1.0, out=molten)
        nodes[..., self._melting] -= self._latent_K * molten
        for row, end, still_K in self._follow:
            nodes[..., row] = end.at(np.asarray(t_s)) if still_K is None else still_K
        return nodes

    def _to_u(self, nodes: Floats) -> Floats:
        u = nodes.copy()
        u[1:-1] += self.body.latent_K * self.body.melted(nodes[1:-1])
        return u
