"""The services against a page of plain Python, whatever an honest or a cheating shop does in whatever order.

The gate is open exactly when the model says so; an entry that was accepted is never lost and a refused one leaves
nothing; what is stored is what a fresh derivation gives; availability follows the release and what came after it.

One machine does everything to one rebuild; smaller ones, each with rules of its own, do what that would seldom come to:
recalls, gauges found bad, follow-ups, newer revisions, shops. All ask the same model.

`REBUILD_MACHINE_EXAMPLES=1000` looks longer, each time elsewhere; what fails is then made as short as it can be.
"""

import os

import pytest
from hypothesis import Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.machine.agreement import Agreement
from tests.machine.follow_ups import FollowUps
from tests.machine.gauges import Gauges
from tests.machine.phones import Phones
from tests.machine.recalls import Recalls
from tests.machine.revisions import Revisions
from tests.machine.transfers import Transfers

ASKED = os.environ.get("REBUILD_MACHINE_EXAMPLES")

pytestmark = pytest.mark.usefixtures("committed")


def play(machine: type[Agreement], examples: int, steps: int) -> None:
    longer = (Phase.generate, Phase.shrink) if ASKED else (Phase.generate,)
    count = int(ASKED or examples)
    asked = settings(max_examples=count, stateful_step_count=steps, phases=longer, derandomize=ASKED is None)
    run_state_machine_as_test(machine, settings=asked)


def test_the_services_and_the_model_agree_whatever_is_done() -> None:
    play(Phones, 45, 25)


def test_the_services_and_the_model_agree_whatever_kit_is_recalled() -> None:
    play(Recalls, 14, 9)


def test_the_services_and_the_model_agree_whatever_a_follow_up_finds() -> None:
    play(FollowUps, 7, 10)


def test_the_services_and_the_model_agree_whatever_gauge_is_found_bad() -> None:
    play(Gauges, 14, 9)


def test_the_services_and_the_model_agree_whatever_revision_comes_out() -> None:
    play(Revisions, 22, 6)


def test_the_services_and_the_model_agree_whatever_shop_has_the_job() -> None:
    play(Transfers, 14, 7)
