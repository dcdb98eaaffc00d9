"""What a reading asks of its gauge's range."""

from fractions import Fraction

from inspections.domain.gauge_demand import demand_on_gauge
from inspections.domain.instruments import InstrumentFacts, InstrumentKind
from inspections.domain.judging import judge
from tests.domain.judging_world import BORE, FLATNESS, GAP, PIECES, bore, gap, grid, pieces

F = Fraction


def gauge(kind, low, high, unit):
    return InstrumentFacts("G-1", InstrumentKind(kind), F(low), F(high), unit, F(1, 100), F(1, 10))


def asked(characteristic, reading, of):
    return demand_on_gauge(characteristic, reading, judge(characteristic, reading, F("0.001")).value, of)


def test_a_reading_in_inches_is_held_against_a_range_in_millimetres():
    assert asked(GAP, gap(".22"), gauge("feeler_set", "0.05", "1.00", "mm")) == F("5.588")
    assert asked(GAP, gap("5,6", unit="mm"), gauge("feeler_set", "0", "1", "in")) == F("5.6") / F("25.4")


def test_a_bore_asks_for_the_diameter_furthest_out_and_not_for_the_elongation():
    worn = bore("1.503 1.548 1.566 1.531")
    assert asked(BORE, worn, gauge("bore_gauge", "1", "1.55", "in")) == F("1.566")
    assert asked(BORE, worn, gauge("bore_gauge", "1.51", "3", "in")) == F("1.503")
    assert asked(BORE, bore("1.503 NaN 1.566 1.531"), gauge("bore_gauge", "1", "2", "in")) is None


def test_a_grid_asks_only_for_a_height_that_the_gauge_does_not_reach():
    plate = grid("0 0 0 0 0/0 .004 0 -.312 0/0 0 0 0 0")
    assert asked(FLATNESS, plate, gauge("dial", "0", "0.3", "in")) == F("0.312")
    assert asked(FLATNESS, plate, gauge("dial", "0", "0.5", "in")) is None


def test_what_the_gauge_does_not_measure_asks_nothing_of_it():
    assert asked(PIECES, pieces("19"), gauge("dial", "0", "1", "in")) is None
    assert asked(GAP, gap(".22"), gauge("torque_wrench", "0", "250", "lbf.ft")) is None
