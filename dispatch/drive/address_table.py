"""The addresses of a road map in columns: a metropolitan area has half a million of them.

As values of their own they would fill 150 MB while the service runs; in columns they take 20.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

import numpy as np

from dispatch.drive.extract import Address

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt


@dataclass(frozen=True, slots=True, eq=False)
class AddressTable(Sequence[Address]):
    """Addresses by row: `text` are indices into `words` (street, number, town, postcode).

    `place` is latitude and longitude in degrees; `within_range` as in `Address`.
    """

    words: tuple[str, ...]
    text: npt.NDArray[np.int32]
    place: npt.NDArray[np.float64]
    within_range: npt.NDArray[np.bool_]

    @classmethod
    def of(cls, addresses: Iterable[Address]) -> AddressTable:
        """Return the table of some addresses."""
        rows = list(addresses)
        words: dict[str, int] = {}
        text = [
            [
                words.setdefault(word, len(words))
                for word in (a.street, a.number, a.town, a.postcode)
            ]
            for a in rows
        ]
        return cls(
            tuple(words),
            np.array(text, dtype=np.int32).reshape(-1, 4),
            np.array([(a.lat, a.lon) for a in rows]).reshape(-1, 2),
            np.array([a.within_range for a in rows], dtype=np.bool_),
        )

    def __len__(self) -> int:
        return len(self.text)

    @overload
    def __getitem__(self, row: int) -> Address: ...

    @overload
    def __getitem__(self, row: slice) -> AddressTable: ...

    def __getitem__(self, row: int | slice) -> Address | AddressTable:
        if isinstance(row, slice):
            return AddressTable(self.words, self.text[row], self.place[row], self.within_range[row])
        street, number, town, postcode = (self.words[word] for word in self.text[row])
        lat, lon = self.place[row].tolist()
        return Address(street, number, town, postcode, lat, lon, bool(self.within_range[row]))

    def __iter__(self) -> Iterator[Address]:
        return (self[row] for row in range(len(self)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, AddressTable) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def rows_by_street(self) -> dict[str, npt.NDArray[np.int64]]:
        """Return the rows of each street by its name, in the order in which they stand."""
        order = np.argsort(self.text[:, 0], kind="stable")
        streets, begins = np.unique(self.text[order, 0], return_index=True)
        ends = [*begins[1:], len(order)]
        return {
            self.words[street]: order[begin:end]
            for street, begin, end in zip(streets, begins, ends[: len(begins)], strict=True)
        }
