"""The namespace that a formula computes in: NumPy's functions for arrays over blocks, these for one block's floats.

NumPy on one float is some ten times slower than the plain function, so each formula takes its namespace, `xp`, first.
"""

import math
from typing import Any, Protocol

Array = Any  # a float for a single block, a NumPy array of the shape told for many


class Namespace(Protocol):
    """The few functions that the formulas need, named as NumPy names them."""

    def minimum(self, a: Array, b: Array, /) -> Array: ...
    def maximum(self, a: Array, b: Array, /) -> Array: ...
    def where(self, condition: Array, a: Array, b: Array, /) -> Array: ...
    def sqrt(self, a: Array, /) -> Array: ...
    def sin(self, a: Array, /) -> Array: ...
    def cos(self, a: Array, /) -> Array: ...
    def tan(self, a: Array, /) -> Array: ...
    def arccos(self, a: Array, /) -> Array: ...


class Floats:
    """One block: plain floats."""

    minimum = staticmethod(min)
    maximum = staticmethod(max)
    sqrt = staticmethod(math.sqrt)
    sin = staticmethod(math.sin)
    cos = staticmethod(math.cos)
    tan = staticmethod(math.tan)
    arccos = staticmethod(math.acos)

    @staticmethod
    def where(condition: bool, a: float, b: float, /) -> float:
        return a if condition else b


FLOATS: Namespace = Floats()
