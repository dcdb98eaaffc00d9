"""The shape behind a reading: the plate behind a grid of heights, the bore behind a table of diameters.

For showing: what decides is the one value that `inspections.domain.measurement` takes from it. Lengths are in the
characteristic's unit. A reading that cannot be read has no shape.
"""

from inspections.domain.bore import Bore
from inspections.domain.characteristic import Characteristic, Method
from inspections.domain.flatness import Flatness, flatness_of_grid
from inspections.domain.geometry_error import GeometryError
from inspections.domain.measurement import Heights, typed_bore, typed_heights
from inspections.domain.quantities import QuantityError, required_unit
from inspections.domain.typed_reading import TypedReading


def geometry_seen(characteristic: Characteristic, reading: TypedReading) -> Flatness | Bore | None:
    """The plate or bore that was measured; None for other readings and for what cannot be read."""
    seen = typed_geometry(characteristic, reading)
    try:
        return flatness_of_grid(*seen) if isinstance(seen, Heights) else seen
    except GeometryError:
        return None


def typed_geometry(characteristic: Characteristic, reading: TypedReading) -> Heights | Bore | None:
    """The heights or the bore as typed; None for other readings and for what cannot be read."""
    reads = {Method.FLATNESS_GRID: typed_heights, Method.BORE: typed_bore}.get(characteristic.method)
    if reads is None:
        return None
    try:
        seen = reads(characteristic, reading, required_unit(characteristic.unit))
    except (QuantityError, GeometryError):
        return None
    return seen if isinstance(seen, Heights | Bore) else None
