"""Heat through a stack in which something melts: the same cells, in enthalpy, with a stiff integrator.

Each cell's heat content is kept as the temperature u it would have without melting: u = T + (latent/cp) x
share molten. T follows from u without a jump, so no step can leap over the melting band. LSODA (odeint of
scipy) chooses the steps for the tolerance; on a halved grid the tolerance is loosened too, so that halving
measures the error of grid and steps together. On cooling the heat comes back over the same band: a melt
that stays liquid below it (undercooling) is left out.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

from assistant.recipe.conduction import Boundary, Conduction, Driven

if TYPE_CHECKING:
    from assistant.recipe.conduction import Floats

TOLERANCE = 1e-5  # of u, on the working grid
TOLERANCE_K = 1e-3
MOST_STEPS = 20000
CLOSE = 0.03  # of the time since the boundaries changed: known times so close are interpolated between


class Melting:
    """The stack from one moment on, under boundaries that keep their law. Times count from that moment.

    What has been integrated is kept, so that looking again between two known times is quick.
    """

    def __init__(self, body: Conduction, nodes: Floats, upper: Boundary, lower: Boundary) -> None:
        import numpy as np

        self.body, self.ends = body, (upper, lower)
        self._capacity = np.concatenate(([1.0], body.capacity, [1.0]))
        for row, end in ((0, upper), (-1, lower)):
            if isinstance(end, Driven):
                self._capacity[row] = end.capacity_J_m2K
        self._held = np.array([not isinstance(end, Driven) for end in (upper, lower)])
        self._width = (body.melts_to_K - body.melts_from_K).clip(
            min=1e-9
        ) + body.latent_K  # of the band, in u
        self._times: list[float] = [0.0]
        self._known: list[Floats] = [self._to_u(nodes)]

    def nodes(self, t_s: Floats) -> Floats:
        """Node temperatures [K], shape (size, times)."""
        import numpy as np

        t = np.atleast_1d(np.asarray(t_s, dtype=float))
        wanted, back = np.unique(t, return_inverse=True)
        states = self._between(wanted)
        if states is None:
            first = bisect_right(self._times, wanted[0]) - 1
            begin, u = self._times[first], self._known[first]
            moments = wanted if wanted[0] == begin else np.concatenate(([begin], wanted))
            states = list(self._integrate(u, moments)[-len(wanted) :])
            for moment, state in zip(wanted, states, strict=True):
                self._keep(float(moment), state)
        out = [self._to_nodes(float(moment), state) for moment, state in zip(wanted, states, strict=True)]
        result: Floats = np.array(out).T[:, back]
        return result

    def _between(self, wanted: Floats) -> list[Floats] | None:
        """States at times that all lie between known ones close to each other (cubic in time); None if one does not."""
        states: list[Floats] = []
        for moment in wanted:
            first = bisect_right(self._times, moment) - 1
            begin = self._times[first]
            if begin == moment:
                states.append(self._known[first])
                continue
            if first + 1 == len(self._times) or self._times[first + 1] - begin > CLOSE * begin:
                return None
            length = self._times[first + 1] - begin
            share, before, after = (moment - begin) / length, self._known[first], self._known[first + 1]
            slope, until = self._rate(begin, before) * length, self._rate(begin + length, after) * length
            rest = 1 - share
            states.append(
                rest**2 * (1 + 2 * share) * before + share**2 * (1 + 2 * rest) * after
                + share * rest * (rest * slope - share * until)
            )  # fmt: skip
        return states

    def _integrate(self, u: Floats, moments: Floats) -> Floats:
        from scipy.integrate import odeint

        if len(moments) == 1:
            return u[None, :]
        loose = 1.0 / min(self.body.fineness, 1.0) ** 3
        found: Floats = odeint(
            self._rate, u, moments, Dfun=self._bands, tfirst=True, ml=1, mu=1, rtol=TOLERANCE * loose,
            atol=TOLERANCE_K * loose, mxstep=MOST_STEPS,
        )  # fmt: skip
        return found

    def _rate(self, t_s: float, u: Floats) -> Floats:
        import numpy as np

        nodes = self._to_nodes(t_s, u)
        flow = self.body.conductance * (nodes[:-1] - nodes[1:])  # W/m2, downwards
        gain = np.empty_like(nodes)
        gain[0], gain[1:-1], gain[-1] = -flow[0], flow[:-1] - flow[1:], flow[-1]
        for row, end in ((0, self.ends[0]), (-1, self.ends[1])):
            if isinstance(end, Driven):
                gain[row] += end.power_W_m2 - end.loss_W_m2K * (nodes[row] - end.around_K)
            else:
                gain[row] = 0.0
        rate: Floats = gain / self._capacity
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

    def _to_nodes(self, t_s: float, u: Floats) -> Floats:
        import numpy as np

        nodes, body = u.copy(), self.body
        molten = ((u[1:-1] - body.melts_from_K) / self._width).clip(0.0, 1.0)
        nodes[1:-1] -= body.latent_K * molten
        for row, end in ((0, self.ends[0]), (-1, self.ends[1])):
            if not isinstance(end, Driven):
                nodes[row] = float(end.at(np.array(t_s)))
        return nodes

    def _to_u(self, nodes: Floats) -> Floats:
        u = nodes.copy()
        u[1:-1] += self.body.latent_K * self.body.melted(nodes[1:-1])
        return u

    def _keep(self, t_s: float, u: Floats) -> None:
        at = bisect_right(self._times, t_s)
        if self._times[at - 1] != t_s:
            self._times.insert(at, t_s)
            self._known.insert(at, u)
