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
        self._slope = 1 + body.latent_K / (body.melts_to_K - body.melts_from_K).clip(min=1e-9)  # du/dT inside
        self._u_top = body.melts_to_K + body.latent_K
        self._times: list[float] = [0.0]
        self._known: list[Floats] = [self._to_u(nodes)]

    def nodes(self, t_s: Floats) -> Floats:
        """Node temperatures [K], shape (size, times)."""
        import numpy as np

        t = np.atleast_1d(np.asarray(t_s, dtype=float))
        wanted, back = np.unique(t, return_inverse=True)
        out = np.empty((self.body.size, len(wanted)))
        first = bisect_right(self._times, wanted[0]) - 1
        begin, u = self._times[first], self._known[first]
        moments = wanted if wanted[0] == begin else np.concatenate(([begin], wanted))
        found = self._integrate(u, moments)[-len(wanted) :]
        for column, (moment, state) in enumerate(zip(wanted, found, strict=True)):
            self._keep(float(moment), state)
            out[:, column] = self._to_nodes(float(moment), state)
        result: Floats = out[:, back]
        return result

    def _integrate(self, u: Floats, moments: Floats) -> Floats:
        from scipy.integrate import odeint

        if len(moments) == 1:
            return u[None, :]
        loose = 1.0 / min(self.body.fineness, 1.0) ** 3
        found: Floats = odeint(
            self._rate, u, moments, tfirst=True, ml=1, mu=1, rtol=TOLERANCE * loose, atol=TOLERANCE_K * loose,
            mxstep=MOST_STEPS,
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

    def _to_nodes(self, t_s: float, u: Floats) -> Floats:
        import numpy as np

        nodes = u.copy()
        cells, body = u[1:-1], self.body
        nodes[1:-1] = np.where(
            cells <= body.melts_from_K,
            cells,
            np.where(
                cells >= self._u_top,
                cells - body.latent_K,
                body.melts_from_K + (cells - body.melts_from_K) / self._slope,
            ),
        )
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
