"""Newer revisions in the middle of a job: a lead moves it or keeps it, and phones that have not heard go on."""

from datetime import timedelta

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from jobs.services.publish_procedure import publish_procedure
from tests.machine.days import hows, phones
from tests.machine.hands import How
from tests.machine.releases import Releases
from tests.machine.taken_back import withdraw_card
from tests.machine.wire import with_kit, with_photos, with_turns
from tests.machine.world import PHOTOS
from tests.plain.procedure import STEPS, VALUES
from tests.plain.revisions import PLANS, Revision, text_of

A_WHILE = timedelta(seconds=30)  # revisions come out between whole minutes, work is done on them
LATE = How(sent=False)
STORIES = ("held", "kept", "ahead", "moved", "fails", "moves late", "is early", "odd", "twice")
leads = st.sampled_from(("JD-1", "JD-1", "EY-1", "RM-1"))


class Revisions(Releases):
    """Work counts under the job's own revision, and no gate opens while somebody must decide about a newer one."""

    @initialize(
        done=st.sampled_from((3, 5, 6, 8, 8)),
        number=st.sampled_from((2, 2, 3)),
        story=st.sampled_from(STORIES),
        releases=st.booleans(),
    )
    def begin(self, done: int, number: int, story: str, *, releases: bool) -> None:
        """A rebuild on its way when a revision comes out; a lead decides, or his phone has no signal yet."""
        hands = self.hands
        hands.go_on(8 if story in {"held", "kept"} else done)
        if story == "fails":
            self.read("SV-1", "low", How())
        self.publish(number, {"ahead": 6, "held": -90}.get(story, 0), critical=story != "moves late")
        if story == "is early":  # the phone was told of a move that the record has not heard of
            self.try_a_step("RM-1", "tag", number, How())
        if story in {"moved", "fails", "odd", "twice", "is early"}:
            self.move("JD-1", number, How())
        elif story == "kept":
            self.move("JD-1", 1, How())
        elif story == "held":
            self.read("SV-1", "good", How())
        elif story == "moves late":
            self.move("JD-1", number, LATE)
            self.try_a_step("SV-1", "tag", number, LATE)
        elif story == "ahead":  # nobody moves to it, or decides about it, before it is in force
            self.move("JD-1", number, How())
            self.move("EY-1", 1, How())
            hands.now += timedelta(minutes=9)
            self.read("SV-1", "good", How())
        if story == "fails":
            hands.do("SV-1", "reading", {"step": "gap", "value": "good"})
        if story == "odd":
            self.try_a_step("SV-1", "last", number, How())
        if story == "twice":
            self.publish(5 - number, 0, critical=True)
            self.move("EY-1", 3, How())
            self.try_a_step("RM-1", "tag", 2, How())
        if story == "moves late" and releases:
            self.release("EY-1", 0, How())

    @rule(number=st.sampled_from((2, 3)), ahead=st.sampled_from((-90, 0, 0, 6)), critical=st.booleans())
    def publish(self, number: int, ahead: int, *, critical: bool) -> None:
        """Dated back, it is in force from now on."""
        hands = self.hands
        if number in hands.bench.digests:
            return
        hands.now += A_WHILE
        since = hands.now + timedelta(minutes=ahead)
        text = text_of(number, since, critical=critical)
        with hands.bench.inside():
            published = publish_procedure(grant=hands.bench.grant(), text=text, now=hands.now)
        hands.bench.digests[number] = published.digest
        hands.taken.revisions[number] = Revision(PLANS[number], max(since, hands.now), critical)
        hands.now += A_WHILE
        hands.tell()

    @rule(phone=leads, to=st.sampled_from((0, 1, 2, 2, 3, 3)), how=hows)
    def move(self, phone: str, to: int, how: How) -> None:
        named = to if to in self.hands.bench.digests else 0
        self.hands.do(phone, "move", {"revision": named, "reason": "Looked at it."}, how)

    @precondition(lambda self: self.hands.told.newer(self.hands.now))
    @rule(keeps=st.booleans())
    def decide(self, *, keeps: bool) -> None:
        told = self.hands.told
        self.move("JD-1", told.revision if keeps else max(told.newer(self.hands.now)), How())

    @rule(phone=phones, revision=st.sampled_from((1, 1, 2, 3)))
    def show(self, phone: str, revision: int) -> None:
        """The phone has no signal: it goes on with this revision."""
        self.hands.shows[phone] = revision

    @precondition(lambda self: self.hands.told.revision > 1 and "JD" not in self.hands.taken.people)
    @rule(ago=st.sampled_from((0, 60, 60)))
    def withdraw_the_card_of_the_lead(self, ago: int) -> None:
        withdraw_card(self.hands, "JD", self.hands.now - timedelta(minutes=ago))

    @rule()
    def fetch(self) -> None:
        self.hands.shows.clear()

    # Work, whatever revision the phone shows.

    def try_a_step(self, phone: str, step: str, shown: int, how: How) -> None:
        self.show(phone, shown)
        self.do_a_step(phone, step, how, again=False)

    @rule(phone=phones, step=st.sampled_from((*STEPS, "last", "tag", "tag")), again=st.booleans(), how=hows)
    def do_a_step(self, phone: str, step: str, how: How, *, again: bool) -> None:
        shown = self.hands.shows.get(phone, self.hands.told.revision)
        if step == "tag" and shown not in self.hands.bench.digests:
            return
        body = {"step": step, **({"reason": "It slipped."} if again else {})}
        said = with_photos(with_kit(with_turns(body), "K-1"), PHOTOS)
        self.hands.do(phone, "rework" if again else "step", said, how)

    @rule(phone=phones, value=st.sampled_from(sorted(VALUES)), how=hows)
    def read(self, phone: str, value: str, how: How) -> None:
        self.hands.do(phone, "reading", {"step": "gap", "value": value, "reason": "A burr."}, how)

    @rule(phone=st.sampled_from(("OK-1", "EY-1")), how=hows)
    def look(self, phone: str, how: How) -> None:
        cycle = len(self.hands.told.run) + 1
        self.hands.do(phone, "verification_cycle", {"step": "verify", "cycle": cycle, "good": True}, how)

    @rule(step=st.sampled_from(("pin", "pin", "last", "tag", "gap")))
    def say_it_again(self, step: str) -> None:
        """What was done under whatever revision is amended under the one that the phone shows."""
        done = [deed for deed in self.hands.deeds if deed.content.get("step") == step and deed.kind != "correction"]
        if done:
            self.hands.name_photos(done[-1].id, PHOTOS if step == "pin" else ())
