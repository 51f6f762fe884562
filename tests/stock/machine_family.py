"""What people tell of batches that are split and joined."""

from hypothesis import strategies as st
from hypothesis.stateful import rule

from stock.doors.splitting import JoinAsked, PartAsked, join_batches, may_join_now, split_batch
from stock.models import Container, Kit
from tests.stock.machine import How, few, hows, which
from tests.stock.machine_animals import Animals


class Family(Animals):
    @rule(
        how=hows,
        batch=which,
        count=few,
        container=which,
        kit=which,
        stays=st.sampled_from([True, True, False]),
        wrong=st.sampled_from([0, 0, 0, 1]),
    )
    def split(
        self,
        how: How,
        batch: int,
        count: int,
        container: int,
        kit: int,
        stays: bool,
        wrong: int,
    ) -> None:
        """Some go elsewhere, the others stay; sometimes the sum is wrong, or all go."""
        uid = self.batch(batch)
        if uid is None:
            return
        alive = self.alive(uid)
        targets = self.uids(Container)
        away = self.pick(targets, container)
        rest = PartAsked(
            max(alive - count + wrong, 1), None if stays else self.pick(targets, container + 1)
        )
        parts = [rest, PartAsked(count, away, self.pick([*self.uids(Kit), None], kit))]
        self.tell(how, split_batch, batch=uid, parts=parts)

    @rule(how=hows, first=which, second=which, container=which, kit=which, apart=st.booleans())
    def join(
        self, how: How, first: int, second: int, container: int, kit: int, apart: bool
    ) -> None:
        members = {uid for uid in (self.batch(first), self.batch(second)) if uid is not None}
        if not members:
            return
        asked = JoinAsked(
            members=tuple(sorted(members)),
            container=self.pick(self.uids(Container), container),
            kit=self.pick([*self.uids(Kit), None], kit),
            told_apart=apart,
        )
        self.asks(how, may_join_now, asked=asked)
        self.tell(how, join_batches, asked=asked)
