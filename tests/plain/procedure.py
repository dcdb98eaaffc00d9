"""The procedure that the machine works by: small, with a kit, a wall, photos, a reading, a correction, and two cycles."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Plan:
    """What there is to do: steps, what each comes after, what doing it undoes, who may, what is in its way, photos."""

    steps: tuple[str, ...]
    after: dict[str, tuple[str, ...]]
    voids: dict[str, tuple[str, ...]]
    scope: dict[str, str]
    walls: dict[str, str] = field(default_factory=dict)
    photos: dict[str, int] = field(default_factory=dict)
    cycles: int = 2
    wordings: dict[str, int] = field(default_factory=dict)  # of each step; what is not named is as it first was


CODE = "PR-90"
STEPS = ("kit", "fit", "pin", "gap", "adjust", "verify", "last")
AFTER = {
    "kit": (),
    "fit": ("kit",),
    "pin": ("fit",),
    "gap": ("pin",),
    "adjust": ("gap",),
    "verify": ("adjust",),
    "last": ("verify",),
}
VOIDS = {"kit": ("fit",), "fit": ("pin",), "pin": ("gap",), "adjust": ("verify",), "verify": ("last",)}
WALLS = {"fit": "pin"}
SCOPE = {
    "kit": "rebuild",
    "fit": "rebuild",
    "pin": "rebuild",
    "gap": "measure",
    "adjust": "adjust",
    "verify": "verify",
    "last": "rebuild",
}
PHOTOS = {"pin": 2}
REBUILD = Plan(STEPS, AFTER, VOIDS, SCOPE, WALLS, PHOTOS)
FOLLOW_UP = Plan(
    ("look", "gap"), {"look": (), "gap": ("look",)}, {"look": ("gap",)}, {"look": "rebuild", "gap": "measure"}
)
GRIND_VOIDS = ("adjust", "verify")
GRINDS = 2
VALUES = {"good": ".220", "roomy": ".245", "low": ".156", "near": ".187", "beyond": ".300"}
PASSES, FAILS, FALLS = {"good", "roomy"}, {"low", "beyond"}, {"good", "near"}
OFF = {"reference": "0.200", "indicated": "0.250"}  # a gauge so far off makes what falls too small
FACE = "jaw stop pad"
TEXT = """
procedure: PR-90
revision: 1
title: A small rebuild of BW-T2
coupling: BW-T2
in_force_from: "2026-01-15T00:00:00-06:00"
safety_critical: false
cautions: [A raised top plate crushes.]
kit_lines: []
follow_up:
  after: {days: 10}
  steps:
    - {key: look, title: Look at the bolts, instruction: Look., scope: rebuild, voids: [gap-again]}
    - key: gap-again
      title: Measure the gap again
      instruction: Measure it.
      scope: measure
      after: [look]
      readings:
        - key: jaw-gap-again
          title: Jaw gap
          dimension: length
          unit: in
          method: single
          nominal: "0.220"
          rule: {kind: guarded, guard: "1"}
          plausible: {lower: "0.020", upper: "0.600"}
          instruments: [feeler_set]
          outcomes:
            - {less_than: "0.180", then: rework, step: gap-again}
            - {at_least: "0.180", at_most: "0.260", then: pass}
            - {more_than: "0.260", then: condemn}
steps:
  - {key: kit, title: Issue the kit, instruction: Scan it., scope: rebuild, issues_kit: true, voids: [fit]}
  - key: fit
    title: Fit the jaw
    instruction: Fit it.
    scope: rebuild
    after: [kit]
    voids: [pin]
    walled_in_by: [pin]
  - {key: pin, title: Drive the pin, instruction: Drive it., scope: rebuild, after: [fit], voids: [gap], photos: 2}
  - key: gap
    title: Measure the gap
    instruction: Measure it.
    scope: measure
    after: [pin]
    readings:
      - key: jaw-gap
        title: Jaw gap
        dimension: length
        unit: in
        method: single
        nominal: "0.220"
        rule: {kind: guarded, guard: "1"}
        plausible: {lower: "0.020", upper: "0.600"}
        instruments: [feeler_set]
        outcomes:
          - {less_than: "0.180", then: correct, correction: grind}
          - {at_least: "0.180", at_most: "0.260", then: pass}
          - {more_than: "0.260", then: condemn}
        corrections:
          - key: grind
            title: Grind the stop pad
            instruction: A little at a time.
            face: jaw stop pad
            direction: increases
            qualification: rebuild
            voids: [adjust, verify]
            attempts: 2
  - key: adjust
    title: Adjust
    instruction: Back one and a quarter turns.
    scope: adjust
    after: [gap]
    voids: [verify]
    adjustment: {method: screw, thread: 3/4-10, taper: "1:10", turns_back: "1 1/4"}
  - key: verify
    title: Verify
    instruction: Look.
    scope: verify
    after: [adjust]
    voids: [last]
    not_by: [adjust, weld, correct]
    verification: {cycles: 2, observations: [jaws_round_shank, no_daylight], instrument: test_kingpin}
  - {key: last, title: Last look, instruction: Look again., scope: rebuild, after: [verify]}
  - {key: release, title: Release, instruction: Sign., scope: release, after: [last]}
"""
