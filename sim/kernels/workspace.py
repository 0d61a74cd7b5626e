"""Scratch memory of the kernels, made once per flight so that none of a step allocates."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.kernels.layout import MAX_STRIPS, SIZE
from firstthrow.sim.kernels.plate import WORK_SIZE


class Workspace:
    def __init__(self) -> None:
        self.work = np.zeros(WORK_SIZE + 8)
        self.stream = np.zeros((MAX_STRIPS, 3))
        self.stages = np.zeros((3, SIZE))
