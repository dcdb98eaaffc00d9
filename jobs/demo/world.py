"""The invented world as plain data: companies, shops, carriers, people, units, instruments.

Nothing here is real, and no value is one to work to on a real coupling. Ids are fixed, so that building the
world twice makes one world.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID, uuid5

_IDS = "019ca000-0000-7000-80{kind:02x}-{name:0>12}"
QUALIFIED_FROM = datetime(2025, 1, 6, 14, tzinfo=UTC)
CALIBRATED_AT = datetime(2026, 1, 12, 15, tzinfo=UTC)


def _id(kind: int, name: str) -> UUID:
    return UUID(_IDS.format(kind=kind, name=name))


@dataclass(frozen=True, slots=True)
class ShopData:
    code: str
    name: str
    time_zone: str
    length_unit: str = "in"

    @property
    def id(self) -> UUID:
        return _id(0, self.code.lower())


@dataclass(frozen=True, slots=True)
class CarrierData:
    name: str
    number: int

    @property
    def id(self) -> UUID:
        return _id(2, f"a{self.number}")


@dataclass(frozen=True, slots=True)
class Held:
    """Scopes held by one grant; `valid_to` None: until it is withdrawn."""

    scopes: tuple[str, ...]
    evidence: str
    valid_from: datetime = QUALIFIED_FROM
    valid_to: datetime | None = None


@dataclass(frozen=True, slots=True)
class PersonData:
    """`role` is that of the token that the person works with; `shop` None works for all shops."""

    initials: str
    shop: str | None
    title: str
    role: str
    held: tuple[Held, ...] = ()

    @property
    def id(self) -> UUID:
        return _id(1, self.initials.encode().hex())

    @property
    def display_name(self) -> str:
        return f"{self.initials}, {self.title}"

    def grant_id(self, place: int) -> UUID:
        return _id(6, f"{place:x}{self.initials.encode().hex()}")


@dataclass(frozen=True, slots=True)
class UnitData:
    number: str
    vin: str
    kind: str
    carrier: str
    model: str
    casting_serial: str

    @property
    def id(self) -> UUID:
        return _id(0, self._hex)

    @property
    def coupling_id(self) -> UUID:
        return _id(4, self._hex)

    @property
    def top_plate_id(self) -> UUID:
        return _id(5, self._hex)

    @property
    def _hex(self) -> str:
        return self.number.lower().replace("-", "")


@dataclass(frozen=True, slots=True)
class InstrumentData:
    """Range, resolution and expanded uncertainty (k = 2) in `unit`."""

    code: str
    shop: str
    kind: str
    unit: str
    range_low: str
    range_high: str
    resolution: str
    uncertainty: str
    checked_at: str  # one value at which its calibration found it right

    @property
    def id(self) -> UUID:
        return _id(3, self.code.encode().hex())

    def calibration_id(self, performed_at: datetime) -> UUID:
        return uuid5(self.id, performed_at.isoformat())


@dataclass(frozen=True, slots=True)
class CompanyData:
    name: str
    slug: str
    shops: tuple[ShopData, ...]
    carriers: tuple[CarrierData, ...]
    people: tuple[PersonData, ...]
    units: tuple[UnitData, ...]
    instruments: tuple[InstrumentData, ...]

    def shop(self, code: str) -> ShopData:
        return next(shop for shop in self.shops if shop.code == code)

    def carrier(self, name: str) -> CarrierData:
        return next(carrier for carrier in self.carriers if carrier.name == name)

    def person(self, initials: str) -> PersonData:
        return next(person for person in self.people if person.initials == initials)

    def unit(self, number: str) -> UnitData:
        return next(unit for unit in self.units if unit.number == number)

    def instrument(self, code: str) -> InstrumentData:
        return next(instrument for instrument in self.instruments if instrument.code == code)


_BENCH = Held(("adjust", "measure", "rebuild", "strip"), "Bench training, signed off by the lead")
_VERIFIES = Held(("measure", "verify"), "Verifier's test")
_RELEASES = Held(("measure", "release"), "Appointed by quality")
_LAST_WELD, _WELDS_UNTIL = datetime(2026, 2, 20, 15, tzinfo=UTC), datetime(2026, 7, 1, 5, tzinfo=UTC)
_WELDS = Held(("weld",), "Weld test, renewed by use on this day", _LAST_WELD, _WELDS_UNTIL)

_PEOPLE = (
    PersonData("RM", "A", "technician", "technician", (_BENCH, _VERIFIES)),
    PersonData("OK", "A", "verifier", "technician", (_VERIFIES,)),
    PersonData("JD", "A", "lead", "lead", (_RELEASES,)),
    PersonData("LP", "B", "technician", "technician", (_BENCH,)),
    PersonData("SV", "B", "technician and welder", "technician", (_BENCH, _VERIFIES, _WELDS)),
    PersonData("TC", "B", "verifier", "technician", (_VERIFIES,)),
    PersonData("AB", "B", "lead and permit issuer", "lead", (_RELEASES,)),
    PersonData("GW", "C", "technician", "technician", (_BENCH,)),
    PersonData("EY", "C", "verifier", "technician", (_VERIFIES,)),
    PersonData("PI", None, "quality", "quality", (Held(("measure", "release", "verify"), "Head of quality"),)),
    PersonData("ZF", None, "parts", "parts"),
    PersonData("WI", None, "instruments", "instruments"),
)
_TARN, _QUILL = "Tarn Valley Haulage", "Quillfeather Freight"
_UNITS = (
    UnitData("4107", "ZZZBW1T22NA004107", "tractor", _TARN, "BW-T2", "CS-41070"),
    UnitData("4112", "ZZZBW1T28MA004112", "tractor", _TARN, "BW-T2", "CS-41120"),
    UnitData("4120", "ZZZBW1T24MB004120", "tractor", _TARN, "BW-T2", "CS-41200"),
    UnitData("4133", "ZZZBW1T25ND004133", "tractor", _TARN, "BW-T2", "CS-41330"),
    UnitData("D-218", "ZZZBW1D46PB000218", "dolly", _TARN, "BW-D2", "CS-21800"),
    UnitData("D-231", "ZZZBW1D4XNC000231", "dolly", _TARN, "BW-D2", "CS-23100"),
    UnitData("3356", "ZZZBW1T25LC003356", "tractor", _QUILL, "BW-T2", "CS-70213"),
    UnitData("4140", "ZZZBW1T2XNE004140", "tractor", _QUILL, "BW-T2", "CS-41400"),
    UnitData("4218", "ZZZBW1T24PB004218", "tractor", _QUILL, "BW-T2", "CS-42180"),
)


def _feeler_set(code: str, shop: str) -> InstrumentData:
    return InstrumentData(code, shop, "feeler_set", "in", "0", "1", "0.001", "0.0102", "0.200")


def _torque_wrench(code: str, shop: str) -> InstrumentData:
    return InstrumentData(code, shop, "torque_wrench", "lbf.ft", "0", "250", "1", "6", "150")


def _test_kingpin(code: str, shop: str) -> InstrumentData:
    return InstrumentData(code, shop, "test_kingpin", "in", "0", "2", "0.001", "0.002", "2.000")


_INSTRUMENTS = (
    _feeler_set("FG-11", "A"),
    _feeler_set("FG-07", "B"),
    _feeler_set("FG-12", "B"),
    InstrumentData("SE-04", "A", "straightedge", "in", "0", "48", "0.001", "0.001", "0"),
    InstrumentData("BG-02", "A", "bore_gauge", "in", "1", "2", "0.001", "0.001", "1.500"),
    InstrumentData("DG-03", "A", "depth_gauge", "in", "0", "6", "0.01", "0.004", "3.000"),
    _torque_wrench("TW-05", "A"),
    _torque_wrench("TW-06", "B"),
    _test_kingpin("TK-03", "A"),
    _test_kingpin("TK-04", "B"),
)

BRINDLEWICK = CompanyData(
    name="Brindlewick Coupling Rebuild",
    slug="brindlewick",
    shops=(
        ShopData("A", "Ashlock", "America/Chicago"),
        ShopData("B", "Brayfen", "America/Chicago"),
        ShopData("C", "Corrow", "America/Denver"),
        ShopData("D", "Dunvale", "America/New_York"),
        ShopData("E", "Elmstay", "America/Toronto", "mm"),
    ),
    carriers=(CarrierData(_TARN, 1), CarrierData(_QUILL, 2)),
    people=_PEOPLE,
    units=_UNITS,
    instruments=_INSTRUMENTS,
)
HARROWGATE = CompanyData(
    name="Harrowgate Axle & Coupling",
    slug="harrowgate",
    shops=(ShopData("F", "Harrowgate", "America/Chicago"),),
    carriers=(),
    people=(),
    units=(),
    instruments=(),
)
COMPANIES = (BRINDLEWICK, HARROWGATE)
