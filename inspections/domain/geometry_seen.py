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
    try:
        unit = required_unit(characteristic.unit)
        if characteristic.method is Method.FLATNESS_GRID:
            heights = typed_heights(characteristic, reading, unit)
            return flatness_of_grid(*heights) if isinstance(heights, Heights) else None
        if characteristic.method is Method.BORE:
            bore = typed_bore(characteristic, reading, unit)
            return bore if isinstance(bore, Bore) else None
    except (QuantityError, GeometryError):
        return None
    return None
