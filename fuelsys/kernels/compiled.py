"""The one place that compiles kernels: numba, cached on disk, without the interpreter's lock, without reordered sums."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]
Flags = NDArray[np.bool_]

Function = TypeVar("Function", bound=Callable[..., Any])


def compiled(function: Function) -> Function:
    """Compile a kernel at its first call and keep the result on disk; numba's strict floating point stays on."""
    return cast(Function, numba.njit(cache=True, nogil=True, error_model="numpy")(function))
