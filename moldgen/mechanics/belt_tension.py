"""A strung belt at rest and at work: stretch, tension, shaft loads, grip, slip, creep, errors of size.

The belt's length is fixed, so its mean tension, weighted by the length over which each tension acts, stays
what it was at rest: F1 + F2 = 2 F0 holds only for equal pulleys far apart. Steady running, no centrifugal
and no bending tension: both are small in soft belts at the speed of such machines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from moldgen.errors import MoldgenError, require_range
from moldgen.mechanics.belt_path import (
    BeltPath,
    Groove,
    Pulley,
    Section,
    VeeGroove,
    belt_path,
    pitch_circles,
    pitch_radius_per_thickness,
    routed,
)
from moldgen.mechanics.solve import root

MOST_STRETCH_RATIO = 1.5
"""Above this rubber stiffens and a neo-Hookean tension reads low."""


class BeltSlipsError(MoldgenError, ArithmeticError):
    """The loads asked for are more than the belt's grip carries."""

    def __init__(self, pulley: int, load_factor: float) -> None:
        super().__init__(pulley, load_factor)
        self.pulley, self.load_factor = pulley, load_factor

    def __str__(self) -> str:
        return f"the belt slips on pulleys[{self.pulley}] at {self.load_factor:.3g} times the load asked for"


@dataclass(frozen=True, slots=True)
class StrungBelt:
    """A belt in place: its run, its section there, and how far it is stretched."""

    pulleys: tuple[Pulley, ...]
    path: BeltPath
    fitted_section: Section
    stretch_ratio: float


def strung_belt(*, pulleys: tuple[Pulley, ...], free_section: Section, free_length_mm: float) -> StrungBelt:
    """The belt of this free section and length (along its centroid) on its pulleys.

    L = path(a/sqrt(L))/L0: stretch thins the section, a thinner section lies deeper and shortens the path.
    Solved by fixed point; each step cuts the error to about pi a/(2 L0), a few hundredths at most.

    Source: constant volume; plane geometry.
    Range: stretch ratio 1 (just without slack) to 1.5. Raises a BeltError where the belt cannot be strung.
    """
    require_range("free_length_mm", free_length_mm, 1.0, 1e5)
    stretch_ratio = 1.0
    for _ in range(100):
        circles = pitch_circles(pulleys=pulleys, section=free_section.stretched(stretch_ratio))
        before, stretch_ratio = stretch_ratio, belt_path(circles=circles).length_mm / free_length_mm
        require_range("stretch_ratio", stretch_ratio, 1.0, MOST_STRETCH_RATIO)
        if abs(stretch_ratio - before) < 1e-13:
            break
    fitted_section = free_section.stretched(stretch_ratio)
    path = routed(pulleys=pulleys, section=fitted_section)
    return StrungBelt(pulleys, path, fitted_section, stretch_ratio)


def strand_tension_n(
    *, shear_modulus_mpa: float, free_area_mm2: float, stretch_ratio: float, relaxation: float
) -> float:
    """Pull in a strand of a stretched belt, in newtons.

    Neo-Hookean solid in simple extension, F = q G A0 (L - 1/L^2): A0 the free section, q the part of the
    tension that relaxation leaves (1 when just fitted).

    Source: L. R. G. Treloar, The Physics of Rubber Elasticity, 3rd ed., 1975, ch. 4, from memory.
    Range: 1 <= L <= 1.5; above that, rubber stiffens and this reads low.

    By hand: 0.8 * 4 * (1.10 - 1/1.21) = 3.2 * 0.273554 = 0.87537

    >>> pull_n = strand_tension_n(shear_modulus_mpa=0.8, free_area_mm2=4.0, stretch_ratio=1.1, relaxation=1.0)
    >>> round(pull_n, 5)
    0.87537
    """
    require_range("shear_modulus_mpa", shear_modulus_mpa, 0.01, 100.0)
    require_range("free_area_mm2", free_area_mm2, 0.001, 1e4)
    require_range("stretch_ratio", stretch_ratio, 1.0, MOST_STRETCH_RATIO)
    require_range("relaxation", relaxation, 0.01, 1.0)
    return relaxation * shear_modulus_mpa * free_area_mm2 * (stretch_ratio - stretch_ratio**-2)


def stretch_at_tension(*, shear_modulus_mpa: float, free_area_mm2: float, tension_n: float, relaxation: float) -> float:
    """Stretch ratio of a strand that pulls with `tension_n`: `strand_tension_n` the other way round.

    Takes the relaxed modulus for changes of load too; a strand that has just been loaded is somewhat stiffer.

    Source and range: as `strand_tension_n`.

    >>> ratio = stretch_at_tension(shear_modulus_mpa=1, free_area_mm2=1, tension_n=0.273554, relaxation=1)
    >>> round(ratio, 4)
    1.1
    """

    def pull_n(stretch_ratio: float) -> float:
        return strand_tension_n(
            shear_modulus_mpa=shear_modulus_mpa,
            free_area_mm2=free_area_mm2,
            stretch_ratio=stretch_ratio,
            relaxation=relaxation,
        )

    require_range("tension_n", tension_n, 0.0, pull_n(MOST_STRETCH_RATIO))
    return root(lambda stretch_ratio: pull_n(stretch_ratio) - tension_n, 1.0, MOST_STRETCH_RATIO)


def wedge_factor(*, groove: Groove) -> float:
    """How much harder a groove's flanks press than the belt's pull: 1/sin(th/2) in a vee, 1 on a floor.

    Friction times this factor goes into the capstan equation.

    Source: vee-belt theory, as given in machine-design handbooks.

    By hand, 60 deg: 1/0.5 = 2

    >>> round(wedge_factor(groove=VeeGroove(20.0, 6.0, 60.0, 15.0)), 9)
    2.0
    """
    return 1.0 / math.sin(groove.half_angle_rad) if isinstance(groove, VeeGroove) else 1.0


def capstan_ratio(*, friction: float, wrap_deg: float) -> float:
    """Tight over slack tension of a belt that is about to slip round an arc: exp(mu th).

    `friction` includes the wedge factor of a vee.

    Source: Euler's and Eytelwein's rope friction, as given in machine-design handbooks.
    Range: friction that does not depend on pressure; thin belt, steady, no centrifugal pull.

    By hand, mu = 0.3, two turns: exp(0.3 * 4 pi) = exp(3.7699) = 43.38

    >>> round(capstan_ratio(friction=0.3, wrap_deg=720.0), 2)
    43.38
    """
    require_range("friction", friction, 0.0, 20.0)
    require_range("wrap_deg", wrap_deg, 0.0, 3600.0)
    return math.exp(friction * math.radians(wrap_deg))


def friction_needed(*, tight_n: float, slack_n: float, wrap_deg: float) -> float:
    """Least friction that holds two tensions apart over an arc: ln(F1/F2)/th, wedge factor included.

    Source: the capstan equation, solved for friction.

    By hand, 2 over 1 on half a turn: 0.693147/3.141593 = 0.2206

    >>> round(friction_needed(tight_n=2.0, slack_n=1.0, wrap_deg=180.0), 4)
    0.2206
    """
    require_range("wrap_deg", wrap_deg, 0.1, 3600.0)
    require_range("slack_n", slack_n, 1e-9, tight_n)
    return math.log(tight_n / slack_n) / math.radians(wrap_deg)


def shaft_loads_n(*, path: BeltPath, span_tensions_n: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Pull of the belt on each shaft as (x, y): F_out t_out - F_in t_in, t along the run. They add up to 0.

    Source: equilibrium of each pulley.
    """
    loads = []
    for k, leaving in enumerate(path.spans):
        out_n, in_n = span_tensions_n[k], span_tensions_n[k - 1]
        (out_x, out_y), (in_x, in_y) = leaving.direction, path.spans[k - 1].direction
        loads.append((out_n * out_x - in_n * in_x, out_n * out_y - in_n * in_y))
    return tuple(loads)


@dataclass(frozen=True, slots=True)
class BeltDrive:
    """A strung belt with its grip on each pulley and the pulley that drives it."""

    path: BeltPath
    rest_tension_n: float
    frictions: tuple[float, ...]
    """Per pulley, the wedge factor of a vee included."""
    driver: int

    def __post_init__(self) -> None:
        count = len(self.path.circles)
        require_range("rest_tension_n", self.rest_tension_n, 1e-6, 1e5)
        require_range("number of frictions", len(self.frictions), count, count)
        require_range("driver", self.driver, 0, count - 1)
        for index, friction in enumerate(self.frictions):
            require_range(f"frictions[{index}]", friction, 0.0, 20.0)


@dataclass(frozen=True, slots=True)
class Slip:
    """The moment at which the belt begins to slip as all loads grow in proportion."""

    pulley: int
    """Where it slips."""
    load_factor: float
    """Loads at that moment over the loads asked about."""
    torques_nmm: tuple[float, ...]
    """On each shaft: what the driver gives, what the others take."""
    span_tensions_n: tuple[float, ...]


@lru_cache(maxsize=256)  # asked for anew by all that follows from it
def first_slip(*, drive: BeltDrive, load_torques_nmm: tuple[float, ...]) -> Slip:
    """Where, and at what multiple of these loads, the belt slips; a load per pulley, 0 on idlers and driver.

    From the slack span behind the driver on, each load M adds M/r to the tension; slip is there when some
    pulley's tensions stand as exp(mu th). On every loaded pulley the belt enters at its incoming tension,
    sticks, and creeps over the last ln(F_out/F_in)/mu of the arc, where tension goes over exponentially. The
    length-weighted mean of all this equals the tension at rest. With one driven pulley it comes down to F2 =
    F0 (lt + ls + la)/(lt e + ls + la g), e = exp(x), g = (e - 1)/x, x = mu th of the pulley that slips, la
    both creeping arcs, lt and ls the lengths at tight and slack tension, and M1 = r1 (e - 1) F2.

    Source: elastic creep theory (Firbank 1970; K. L. Johnson, Contact Mechanics, 1985, ch. 8; both from
    memory).
    Range: up to 10 % stretch and friction 0.8 the torque is that of a neo-Hookean belt with its mass
    conserved, integrated numerically, or up to 1 % less. Steady running; at the first start the split of the
    tensions depends on how the belt was laid on.

    Two equal pulleys of radius 10, 1e6 apart: arcs count for nothing, and the textbook's 2 F0 r tanh(mu
    th/2) returns: 2 * 1 * 10 * tanh(0.5 pi/2) = 20 * 0.655794 = 13.1159

    >>> from moldgen.mechanics.belt_path import PitchCircle, Sense
    >>> far = belt_path(circles=(PitchCircle(0, 0, 10, Sense.CCW), PitchCircle(1e6, 0, 10, Sense.CCW)))
    >>> drive = BeltDrive(path=far, rest_tension_n=1.0, frictions=(0.5, 0.5), driver=0)
    >>> round(first_slip(drive=drive, load_torques_nmm=(0.0, 1.0)).torques_nmm[1], 3)
    13.116
    """
    steps_n = _steps_n(drive, load_torques_nmm)
    load_over_slack, pulley = _load_over_slack_at_slip(drive, steps_n)
    per_slack = tuple(1.0 + load_over_slack * step for step in steps_n)
    slack_n = drive.rest_tension_n / _mean_tension_n(drive, per_slack)
    load_factor = load_over_slack * slack_n
    torques = [load_factor * torque for torque in load_torques_nmm]
    torques[drive.driver] = load_factor * max(steps_n) * drive.path.circles[drive.driver].radius_mm
    return Slip(pulley, load_factor, tuple(torques), tuple(slack_n * tension for tension in per_slack))


def slip_alone(*, drive: BeltDrive, pulley: int) -> Slip:
    """The slip when `pulley` alone takes load: `torques_nmm[pulley]` is its slip torque."""
    return first_slip(drive=drive, load_torques_nmm=tuple(float(k == pulley) for k in range(len(drive.frictions))))


def span_tensions_n(*, drive: BeltDrive, load_torques_nmm: tuple[float, ...]) -> tuple[float, ...]:
    """Tension in each span under these loads (0 on idlers); span k leaves pulley k.

    As `first_slip`, with the slack tension found such that the length-weighted mean is the tension at rest.
    Raises BeltSlipsError if the grip does not carry the loads.
    """
    if not any(load_torques_nmm):
        return (drive.rest_tension_n,) * len(drive.path.spans)
    steps_n = _steps_n(drive, load_torques_nmm)
    slip = first_slip(drive=drive, load_torques_nmm=load_torques_nmm)
    if slip.load_factor < 1.0:
        raise BeltSlipsError(slip.pulley, slip.load_factor)

    def excess_n(slack_n: float) -> float:
        return _mean_tension_n(drive, tuple(slack_n + step for step in steps_n)) - drive.rest_tension_n

    # A load factor of just 1 puts the answer at the bracket's end, rounding past it: hence the last factor.
    least_slack_n = min(slip.span_tensions_n) / slip.load_factor * (1.0 - 1e-12)
    slack_n = root(excess_n, least_slack_n, drive.rest_tension_n)
    return tuple(slack_n + step for step in steps_n)


def _steps_n(drive: BeltDrive, load_torques_nmm: tuple[float, ...]) -> tuple[float, ...]:
    """By how much each span's tension exceeds that of the slack span behind the driver."""
    count = len(drive.path.circles)
    require_range("number of load_torques_nmm", len(load_torques_nmm), count, count)
    require_range("load torque of the driver", load_torques_nmm[drive.driver], 0.0, 0.0)
    require_range("sum of load_torques_nmm", math.fsum(load_torques_nmm), 1e-12, math.inf)
    steps = [0.0] * count
    for k in ((drive.driver + offset) % count for offset in range(1, count)):
        require_range(f"load_torques_nmm[{k}]", load_torques_nmm[k], 0.0, math.inf)
        steps[k] = steps[k - 1] + load_torques_nmm[k] / drive.path.circles[k].radius_mm
    return tuple(steps)


def _load_over_slack_at_slip(drive: BeltDrive, steps_n: tuple[float, ...]) -> tuple[float, int]:
    """Least load factor per newton of slack tension at which a pulley slips, and that pulley."""
    least, slipping = math.inf, drive.driver
    for k, step_out in enumerate(steps_n):
        low, high = sorted((steps_n[k - 1], step_out))
        if low == high:
            continue
        ratio = capstan_ratio(friction=drive.frictions[k], wrap_deg=drive.path.wraps_deg[k])
        # (1 + q high) = ratio (1 + q low); where low is not zero a large ratio is never reached.
        reach = high - ratio * low
        if reach > 0.0 and (ratio - 1.0) / reach < least:
            least, slipping = (ratio - 1.0) / reach, k
    return least, slipping


def _mean_tension_n(drive: BeltDrive, tensions_n: tuple[float, ...]) -> float:
    """Tension averaged over the belt's length: spans, sticking arcs, creeping arcs."""
    parts = [span.length_mm * tension for span, tension in zip(drive.path.spans, tensions_n, strict=True)]
    for k, arc_mm in enumerate(drive.path.arcs_mm):
        in_n, out_n = tensions_n[k - 1], tensions_n[k]
        creeping_mm, creeping_mean_n = 0.0, in_n
        if in_n != out_n and drive.frictions[k] > 0.0:
            log_ratio = math.log(out_n / in_n)
            creeping_mm = drive.path.circles[k].radius_mm * abs(log_ratio) / drive.frictions[k]
            creeping_mean_n = (out_n - in_n) / log_ratio
        parts.append((arc_mm - creeping_mm) * in_n + creeping_mm * creeping_mean_n)
    return math.fsum(parts) / drive.path.length_mm


@lru_cache(maxsize=256)
def creep(
    *, tight_n: float, slack_n: float, shear_modulus_mpa: float, free_area_mm2: float, relaxation: float
) -> float:
    """Part of its speed that a driven pulley loses without slipping: 1 - L_slack/L_tight.

    The belt leaves the driver less stretched than it came, and as much of its mass passes every place, so it
    runs slower there. For small loads (F1 - F2)/(dF/dL).

    Source: elastic creep theory (Firbank 1970; K. L. Johnson, Contact Mechanics, 1985, ch. 8; both from
    memory).
    Range: stretch ratio of both strands 1 to 1.5; ends at 0 when no load is carried.

    >>> creep(tight_n=0.5, slack_n=0.5, shear_modulus_mpa=1.0, free_area_mm2=2.56, relaxation=1.0)
    0.0
    """
    slack, tight = (
        stretch_at_tension(
            shear_modulus_mpa=shear_modulus_mpa,
            free_area_mm2=free_area_mm2,
            tension_n=n,
            relaxation=relaxation,
        )
        for n in (slack_n, tight_n)
    )
    return 1.0 - slack / tight


def pulley_speeds_rpm(
    *,
    drive: BeltDrive,
    span_tensions_n: tuple[float, ...],
    driver_speed_rpm: float,
    shear_modulus_mpa: float,
    free_area_mm2: float,
    relaxation: float,
) -> tuple[float, ...]:
    """Speed of each pulley, creep included; the sense is the pulley's own.

    Each pulley turns with the belt as it arrives: n_i/n_d = (r_d/r_i)(1 - creep between the two arriving
    strands).

    Source: as `creep`.
    """
    driver_radius_mm = drive.path.circles[drive.driver].radius_mm
    return tuple(
        driver_speed_rpm
        * driver_radius_mm
        / circle.radius_mm
        * (
            1.0
            - creep(
                tight_n=span_tensions_n[drive.driver - 1],
                slack_n=span_tensions_n[k - 1],
                shear_modulus_mpa=shear_modulus_mpa,
                free_area_mm2=free_area_mm2,
                relaxation=relaxation,
            )
        )
        for k, circle in enumerate(drive.path.circles)
    )


@dataclass(frozen=True, slots=True)
class SpeedSensitivity:
    """Relative change of a driven pulley's speed per mm of error; 0.01 is 1 %."""

    per_mm_thickness: float
    """Of the free section, all its sides alike."""
    per_mm_driver_diameter: float
    per_mm_driven_diameter: float


def speed_sensitivity(*, belt: StrungBelt, driver: int, driven: int) -> SpeedSensitivity:
    """What an error of belt thickness or of a pulley's diameter does to the speed of `driven`.

    d ln(n2/n1)/da = (k1/r1 - k2/r2)/sqrt(L), k the growth of a pitch radius with thickness (1/2 on a floor,
    more in a vee); d ln(n2/n1)/dD1 = 1/(2 r1), /dD2 = -1/(2 r2); r are pitch radii.

    Source: derivatives of r1/r2; the stretch ratio is held, as its change with thickness is of higher order.
    """
    driver_radius_mm, driven_radius_mm = (belt.path.circles[k].radius_mm for k in (driver, driven))
    driver_growth, driven_growth = (
        pitch_radius_per_thickness(groove=belt.pulleys[k].groove, section=belt.fitted_section) for k in (driver, driven)
    )
    per_fitted_mm = driver_growth / driver_radius_mm - driven_growth / driven_radius_mm
    return SpeedSensitivity(
        per_mm_thickness=per_fitted_mm / math.sqrt(belt.stretch_ratio),
        per_mm_driver_diameter=0.5 / driver_radius_mm,
        per_mm_driven_diameter=-0.5 / driven_radius_mm,
    )
