"""The uncertainty budget of each kind of instrument. All figures are the caller's, in the unit named.

Which distribution each line has is stated here; where the standard of the instrument says nothing, a limit
that is only known as a limit is taken as rectangular (GUM, JCGM 100:2008, 4.3.7), an experienced person's
judgement of the spread of a feel as a standard deviation (4.3.9 and common practice, no source), a
resolution as rectangular over half a step either way (F.2.2.1), and a misalignment as one-sided and small,
therefore rectangular too (F.2.4.4). A repeatability `deviation` from `count` readings has count - 1 degrees
of freedom.
"""

from fractions import Fraction

from inspections.domain.budget import Budget, Distribution, Line

_HALF = Fraction(1, 2)


def feeler_set(*, unit: str, bracket_step: Fraction, blade: Fraction, feel: Fraction, face: Fraction) -> Budget:
    """A gap between the thickest blade that goes and the next, which does not.

    The gap lies anywhere in the bracket: rectangular over +- half a step. Blade thickness and the face the
    blade lies on: rectangular over their limits. Feel: a standard deviation.
    """
    return Budget(
        "Feeler set",
        unit,
        (
            Line("bracket, half a step", bracket_step * _HALF, Distribution.RECTANGULAR),
            Line("blade thickness", blade, Distribution.RECTANGULAR),
            Line("feel", feel, Distribution.NORMAL),
            Line("face", face, Distribution.RECTANGULAR),
        ),
    )


def caliper(
    *,
    unit: str,
    resolution: Fraction,
    limit_of_error: Fraction,
    deviation: Fraction,
    count: int,
    alignment: Fraction,
) -> Budget:
    """A caliper with its limit of error (ISO 13385-1), read to `resolution`.

    `alignment` is the most that holding it askew may add.
    """
    return Budget(
        "Caliper",
        unit,
        (
            _resolution(resolution),
            Line("limit of error", limit_of_error, Distribution.RECTANGULAR),
            _repeatability(deviation, count),
            Line("alignment", alignment, Distribution.RECTANGULAR),
        ),
    )


def bore_gauge(
    *,
    unit: str,
    resolution: Fraction,
    limit_of_error: Fraction,
    setting_ring: Fraction,
    deviation: Fraction,
    count: int,
    temperature: Fraction,
) -> Budget:
    """A bore gauge set in a ring whose certificate says U (k = 2).

    `deviation` is the repeatability of rocking to the smallest reading, `temperature` the limit of the
    difference in length between ring and part.
    """
    return Budget(
        "Bore gauge",
        unit,
        (
            _resolution(resolution),
            Line("limit of error", limit_of_error, Distribution.RECTANGULAR),
            Line("setting ring", setting_ring, Distribution.EXPANDED),
            _repeatability(deviation, count),
            Line("temperature", temperature, Distribution.RECTANGULAR),
        ),
    )


def depth_gauge(
    *,
    unit: str,
    resolution: Fraction,
    limit_of_error: Fraction,
    deviation: Fraction,
    count: int,
    seat: Fraction,
) -> Budget:
    """A depth gauge; `seat` is the limit of how well its base sits on the face."""
    return Budget(
        "Depth gauge",
        unit,
        (
            _resolution(resolution),
            Line("limit of error", limit_of_error, Distribution.RECTANGULAR),
            _repeatability(deviation, count),
            Line("seat", seat, Distribution.RECTANGULAR),
        ),
    )


def dial_indicator(
    *,
    unit: str,
    graduation: Fraction,
    limit_of_error: Fraction,
    hysteresis: Fraction,
    deviation: Fraction,
    count: int,
    alignment: Fraction,
) -> Budget:
    """A dial indicator (ISO 463), read to half a graduation either way.

    `hysteresis` is the whole difference between in and out, of which half either way counts; a dial gives a
    difference of two readings, so the graduation is counted twice.
    """
    return Budget(
        "Dial indicator",
        unit,
        (
            Line("reading, zero", graduation * _HALF, Distribution.RECTANGULAR),
            Line("reading, value", graduation * _HALF, Distribution.RECTANGULAR),
            Line("limit of error", limit_of_error, Distribution.RECTANGULAR),
            Line("hysteresis", hysteresis * _HALF, Distribution.RECTANGULAR),
            _repeatability(deviation, count),
            Line("alignment", alignment, Distribution.RECTANGULAR),
        ),
    )


def torque_wrench(
    *,
    unit: str,
    target: Fraction,
    relative_limit: Fraction,
    resolution: Fraction,
    certificate: Fraction,
    deviation: Fraction,
    count: int,
    reach: Fraction,
) -> Budget:
    """A torque wrench at `target`.

    `relative_limit` is its permissible deviation as a share (0.04 for 4 %, ISO 6789-1), `certificate` the U
    (k = 2) of its calibration, `reach` the share by which the hand may miss the marked place on the grip;
    `deviation` the repeatability from `count` pulls.
    """
    return Budget(
        "Torque wrench",
        unit,
        (
            Line("permissible deviation", relative_limit, Distribution.RECTANGULAR, sensitivity=target),
            _resolution(resolution),
            Line("calibration", certificate, Distribution.EXPANDED),
            _repeatability(deviation, count),
            Line("place of the hand", reach, Distribution.RECTANGULAR, sensitivity=target),
        ),
    )


def _resolution(step: Fraction) -> Line:
    return Line("resolution, half a step", step * _HALF, Distribution.RECTANGULAR)


def _repeatability(deviation: Fraction, count: int) -> Line:
    """A standard deviation from `count` readings; ValueError for fewer than two."""
    if count < 2:  # noqa: PLR2004 - one reading has no deviation
        raise ValueError("a standard deviation needs two readings")
    return Line("repeatability", deviation, Distribution.NORMAL, degrees=Fraction(count - 1))
