"""Cohorts on their way come to what dense matrices say of each release by itself."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, town

from hydroloop.tracing import Way, follow_cohorts, operator
from hydroloop.tracing.since import between, only

HOME, LEAK, BASEFLOW, INTAKE, OVERFLOW, OUTFALL = 1, 2, 7, 0, 9, 11
ELM = (8, 10)
# From an outfall on, past no flow to the workshop: the reach, and by mains and leaks the ground.
BEGINS, ENDS = (OUTFALL,), ELM
READ = ((INTAKE,), (LEAK, BASEFLOW, INTAKE))
ON_THE_WAY = [1, 2, 3]


def mask(*flows):
    found = np.zeros(12, dtype=bool)
    found[list(flows)] = True
    return found


def finer(dense, pieces):
    """The record in shorter steps: rates as they are, volumes along a line."""
    edges = len(dense.days) * pieces + 1
    at, old = np.arange(edges) / pieces, np.arange(len(dense.days) + 1)
    volume = np.array([np.interp(at, old, column) for column in dense.volume.T]).T
    moved, days = (np.repeat(part / pieces, pieces, axis=0) for part in (dense.moved, dense.days))
    return Dense(volume, moved, days, dense.source, dense.target, dense.before)


def expected(dense, pieces, classes, stores):
    """Each release by itself: what it passed by class, its rest, and its part of the stores."""
    fine = finer(dense, pieces)
    begins, read = mask(*BEGINS), [mask(*flows) for flows in READ]
    through = ~(begins | mask(*ENDS))
    steps = len(fine.days)
    moved, passed = np.zeros((2, classes)), np.zeros(2)
    pending, seen = 0.0, np.zeros((len(dense.days), len(stores), classes))
    for release in range(steps):
        label = np.zeros(5)
        for age in range(min(classes, steps - release)):
            t = release + age
            given = fine.given(t, begins * (age == 0))
            label = fine.solve(t, fine.volume[t] * label + given, through)[0]
            for group, flows in enumerate(read):
                amount = (fine.moved[t] * label[fine.source])[flows].sum()
                moved[group, age] += amount
                passed[group] += amount * (t >= classes)
            seen[t // pieces, :, age] += label[list(stores)] / pieces
            if age == classes - 1:
                pending += (fine.volume[t + 1] * label)[ON_THE_WAY].sum()
    own = fine.moved[:, begins].sum(axis=1)
    released = [own[: steps - age].sum() for age in range(classes)]
    whole = [fine.moved[classes:, flows].sum() for flows in read]
    return moved, passed, pending, seen, released, whole


@pytest.mark.parametrize("members", [0, 2])
@pytest.mark.parametrize(
    ("longest", "finest", "pieces", "classes"), [(2.6, 2.0, 1, 2), (2.5, 0.7, 3, 6)]
)
def test_each_release(members, longest, finest, pieces, classes):
    """What passed by class, is under way, was released and stands in the stores asked for."""
    record = town(5, members=members)
    assert_closes(record)
    way = Way(mask(*BEGINS), mask(*ENDS), tuple(mask(*flows) for flows in READ), longest, finest)
    stores = (3, 1, 4)
    found = follow_cohorts(operator(record), way, stores)
    assert found.days == pytest.approx(np.arange(classes) * 5.0 / 4 / pieces)
    for k in range(max(1, members)):
        dense = Dense.of(record, k if members else None)
        moved, passed, pending, seen, released, whole = expected(dense, pieces, classes, stores)
        seen[:, 2] = 0.0  # the workshop lies behind a flow that ends the way
        assert np.abs(found.moved[..., k] - moved).max() <= 1e-12
        assert np.abs(found.seen[..., k] - seen).max() <= 1e-12
        assert found.pending[k] == pytest.approx(pending, rel=1e-12)
        assert found.passed[:, k] == pytest.approx(passed, abs=1e-12)
        assert found.whole[:, k] == pytest.approx(whole, rel=1e-12)
        assert found.released[:, k] == pytest.approx(released, rel=1e-12)


def test_more_cohorts_than_stand_side_by_side():
    """Eighty-two classes of twice as many short steps: the same as each by itself."""
    record = town(5, days=(1.0,))
    dense = Dense.of(record)
    way = Way(mask(*BEGINS), mask(*ENDS), tuple(mask(*flows) for flows in READ), 0.5, 0.0061)
    found = follow_cohorts(operator(record), way, (1,))
    moved, passed, pending, seen, _, whole = expected(dense, 164, 82, (1,))
    assert len(found.days) == 82
    assert np.abs(found.moved[..., 0] - moved).max() <= 1e-12
    assert np.abs(found.seen[..., 0] - seen).max() <= 1e-12
    assert found.passed[:, 0] == pytest.approx(passed, rel=1e-10)
    assert found.pending[0] == pytest.approx(pending, rel=1e-10)
    assert found.whole[:, 0] == pytest.approx(whole, rel=1e-12)


def test_classes_are_at_least_one_and_at_most_half_of_the_record():
    """Of four steps two classes, however long is asked for, and one for no time at all."""
    op = operator(town(5))
    for longest, classes in ((100.0, 2), (0.0, 1), (1.3, 1), (2.0, 2)):
        way = Way(mask(*BEGINS), mask(*ENDS), (mask(INTAKE),), longest, 2.0)
        assert len(follow_cohorts(op, way).days) == classes


def test_no_store_on_the_way():
    """Behind a flow out of the record is no store: nothing passes, all that does pass is told."""
    record = town(5)
    dense = Dense.of(record)
    found = follow_cohorts(operator(record), Way(mask(4), mask(), (mask(INTAKE),), 2.6, 2.0))
    assert (found.moved == 0).all()
    assert (found.pending == 0).all()
    assert found.seen.shape == (4, 0, 0, 1)
    assert found.whole[0, 0] == pytest.approx(dense.moved[2:, INTAKE].sum(), rel=1e-12)


def test_stores_between():
    """What can be reached from the begin and leads to an end, past no flow that is shut."""
    op = operator(town(5))
    for begins, shut, ends, stores in (
        (BEGINS, (*BEGINS, *ELM), [1, 3], [1, 2, 3]),
        (BEGINS, (*BEGINS, *ELM, LEAK), [1], [1]),
        (BEGINS, (*BEGINS, *ELM, LEAK), [3], [1, 3]),
        ((HOME,), (HOME, OUTFALL), [0], [0]),
        ((HOME,), (HOME, OUTFALL), [1], []),
        ((4,), (), [1], []),  # over the boundary
        ((3,), (INTAKE,), [4], [1, 4]),
        ((3,), (), [0, 4], [0, 1, 2, 3, 4]),
        ((3,), (), [-1], []),
    ):
        found = between(op, mask(*begins), mask(*shut), np.array(ends))
        assert np.flatnonzero(found).tolist() == stores


def test_some_stores_alone():
    """Flows to other stores lead over the boundary; those that touch none of them fall away."""
    record = town(5)
    op = operator(record)
    chosen = np.array([False, True, False, True, False])
    part, flows = only(op, chosen)
    assert part.stores == ("wren/reach", "ash/mains")
    assert flows.tolist() == [0, 1, 2, 3, 5, 7, 8, 9, 11]
    assert part.source.tolist() == [0, 1, 1, -1, 0, -1, 0, -1, -1]
    assert part.target.tolist() == [1, -1, -1, 0, -1, 0, -1, 0, 0]
    assert part.flows == tuple(op.flows[k] for k in flows)
    assert part.kinds == tuple(op.kinds[k] for k in flows)
    assert part.places == ("wren", "ash")
    assert part.roles == ("reach", "mains")
    assert (part.water.volume == op.water.volume[:, [1, 3]]).all()
    assert (part.water.rate == op.water.rate[:, flows]).all()
    assert (part.used_before == op.used_before[flows]).all()
    assert [part.outside[k] for k in (3, 4)] == ["upstream", "downstream"]
