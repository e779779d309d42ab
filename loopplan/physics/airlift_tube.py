"""Tube airlift: air blown into upright tubes, alone or side by side in a bank.

The core is that of `loopplan.physics.airlift_column`; its closure is
`loopplan.physics.two_phase_tubes.tube`. Tubes of a bank share water and air evenly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.airlift_column import Mouth, Site
from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import friction_factor

GAS_IN_DATA = 2.0
"""Superficial gas velocity [m/s] up to which the closure is held against measurements."""

SUBMERGENCE_IN_DATA = 0.57
"""Least submergence ratio [-] at which it is held against measurements."""

BORES_IN_DATA = (0.0254, 0.0283)
"""Bores [m] of the measured tubes (`kassab-2009`, `todoroki-1973`)."""


@dataclass(frozen=True)
class Tubes:
    """A bank of like tubes that discharge at their upper ends.

    Attributes:
        submergence: depth of the injectors under the level on the inlet side [m].
        diameter: bore [m].
        count: tubes in parallel [-].
        foot_length: tube below the injector [m].
        entry_k: loss of the entry on the velocity head in the tube [-]; 0.5 is a sharp edge.
        discharge_k: loss of an elbow and the like at the upper end, on the velocity head of the
            water there [-]; the velocity head itself is lost besides.
        roughness: sand roughness [m].
        most_gas: superficial gas velocity up to which air flows are searched [m/s]. The closure
            is good to 2 or so.
    """

    submergence: Numbers
    diameter: Numbers
    count: Numbers = 1.0
    foot_length: Numbers = 0.0
    entry_k: Numbers = 0.5
    discharge_k: Numbers = 0.0
    roughness: Numbers = 1.5e-6
    most_gas: float = 10.0

    @property
    def units(self) -> Numbers:
        """Tubes in parallel [-]."""
        return self.count

    @property
    def area(self) -> Array:
        """Section of one tube [m2]."""
        return np.asarray(np.pi / 4.0 * np.square(self.diameter))

    @property
    def bore(self) -> Numbers:
        """Bore [m]."""
        return self.diameter

    @property
    def size(self) -> Numbers:
        """Size for the closure: the bore [m]."""
        return self.diameter

    def losses_below(self, flow: Array, site: Site) -> dict[str, Array]:
        """Losses of the entry and of the tube below the injector.

        Args:
            flow: water flow of the whole bank [m3/s].
            site: water and atmosphere.

        Returns:
            Losses by name [m].

        Source: `borda-carnot`, `colebrook`.
        """
        velocity = flow / (self.count * self.area)
        bore = np.asarray(self.diameter)
        reynolds = np.maximum(velocity * bore / site.viscosity, 1e-3)
        wall = friction_factor(reynolds, self.roughness / bore) * self.foot_length / bore
        head = velocity**2 / (2.0 * GRAVITY)
        return {"entry": self.entry_k * head, "foot friction": wall * head}

    def mouth(self, flow: Array, lift: Array, fraction: Array) -> Mouth:
        """Free discharge at the upper end.

        Args:
            flow: water flow of the whole bank [m3/s].
            lift: upper end of the tubes less inlet level [m].
            fraction: gas fraction at the upper end [-].

        Returns:
            The mouth.

        Source: `borda-carnot`.
        """
        velocity = flow / (self.count * self.area * (1.0 - fraction))
        lost = self.discharge_k * velocity**2 / (2.0 * GRAVITY)
        height = np.asarray(self.submergence) + lift + 0.0 * lost
        return Mouth(height, lost, np.zeros_like(height), {"discharge fittings": lost})
