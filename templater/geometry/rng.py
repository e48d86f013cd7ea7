"""Random numbers of our own: small integers only, so that compiled and plain runs agree.

Two multiplicative congruential generators combined, period about 2.3·10^18. Every product stays
below 2^62, so that 64-bit integers and Python's own give the same.
Source: P. L'Ecuyer, Efficient and portable combined random number generators, Communications of
the ACM 31 (6), 1988.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import TypeVar

M1, A1 = 2147483563, 40014
M2, A2 = 2147483399, 40692

_T = TypeVar("_T")


def rng_state(*words: str | int) -> tuple[int, int]:
    """A generator's two numbers from words and numbers such as seed, piece, zone and purpose.

    The same words give the same state in every process: Python's own `hash` would not.
    """
    digest = hashlib.blake2b("\x1f".join(str(word) for word in words).encode(), digest_size=16)
    number = int.from_bytes(digest.digest(), "big")
    return 1 + number % (M1 - 1), 1 + (number >> 64) % (M2 - 1)


class Rng:
    """A stream of random numbers, the same for the same words on every machine."""

    __slots__ = ("_words", "first", "second")

    def __init__(self, *words: str | int) -> None:
        self._words = words
        self.first, self.second = rng_state(*words)

    def child(self, *words: str | int) -> Rng:
        """A stream of its own for a purpose; taking from it leaves this one as it is."""
        return Rng(*self._words, *words)

    def uniform(self) -> float:
        """A number between 0 and 1, neither of them."""
        self.first = self.first * A1 % M1
        self.second = self.second * A2 % M2
        return ((self.first - self.second) % (M1 - 1) + 1) / M1

    def below(self, count: int) -> int:
        """A whole number from 0 to `count` - 1."""
        return min(int(self.uniform() * count), count - 1)

    def shuffled(self, values: Sequence[_T]) -> list[_T]:
        """The values in random order (Fisher and Yates)."""
        result = list(values)
        for i in range(len(result) - 1, 0, -1):
            j = self.below(i + 1)
            result[i], result[j] = result[j], result[i]
        return result
