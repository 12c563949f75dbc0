"""Strategies that make small problems and readings for the property tests."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from troubleshoot.reasoning.events import Evidence, Looked, Repaired, Retested
from troubleshoot.reasoning.problem import DEGREES, Cause, Check, Ending, Problem, Repair, Setup, Variant

CHANCE = st.floats(0.02, 0.98)


@st.composite
def distribution(draw, size, least=0.01):
    parts = [draw(st.floats(least, 1.0)) for _ in range(size)]
    total = sum(parts)
    shares = [part / total for part in parts]
    shares[-1] = 1.0 - sum(shares[:-1])
    return tuple(shares)


@st.composite
def signatures(draw, size, forms):
    """One distribution for all variants, or one each, some of which leave the check alone."""
    if draw(st.booleans()):
        return draw(distribution(size))
    each = tuple(draw(st.none() | distribution(size)) for _ in range(forms))
    return each if any(each) else draw(distribution(size))


@st.composite
def problems(draw, causes=(2, 5), checks=(1, 4), most=(1, 3), variants=3, **fixed):
    n = draw(st.integers(*causes))
    names = [f"cause-{i}" for i in range(n)]
    concerns = draw(st.integers(1, 2))
    shows = st.tuples(*[CHANCE] * concerns)
    forms = {c: draw(st.integers(1, variants)) for c in names}
    made = [
        Cause(
            c,
            draw(st.floats(0.005, 0.4)),
            draw(shows),
            f"repair-{c}",
            tuple(
                Variant(draw(st.sampled_from(["", *DEGREES])), "", weight, draw(st.none() | shows))
                for weight in draw(distribution(forms[c]))
            ),
        )
        for c in names
    ]
    listed = []
    for j in range(draw(st.integers(*checks))):
        size = draw(st.integers(2, 4))
        outcomes = tuple(f"o{k}" for k in range(size))
        movers = draw(st.lists(st.sampled_from(names), unique=True, max_size=n))
        listed.append(
            Check(
                f"check-{j}",
                outcomes,
                draw(st.sampled_from([None, *outcomes])),
                draw(distribution(size)),
                {cause: draw(signatures(size, forms[cause])) for cause in movers},
                draw(st.floats(1, 20)),
                0.0,
                draw(st.sampled_from([None, "gauge"])),
            )
        )
    repairs = tuple(Repair(f"repair-{c}", draw(st.floats(5, 200)), 0.0, {c: draw(st.floats(0.5, 1.0))}) for c in names)
    return Problem(
        tuple(made),
        tuple(listed),
        repairs,
        tuple(f"concern-{k}" for k in range(concerns)),
        tuple(draw(st.floats(0.001, 0.2)) for _ in range(concerns)),
        (Setup("gauge", 5.0),),
        draw(st.integers(*most)),
        referral_minutes=draw(st.floats(10, 500)),
        **{"mistakes": draw(st.sampled_from([0.0, 0.03, 0.2])), **fixed},
    )


@st.composite
def with_costs_by_state(draw, problem):
    """The same problem with endings and repairs that cost what is there, one ending besides the referral."""
    dear = st.dictionaries(st.sampled_from([cause.id for cause in problem.causes]), st.floats(0.0, 300.0), max_size=3)
    return replace(
        problem,
        repairs=tuple(replace(one, adds=draw(dear)) for one in problem.repairs),
        referral_adds=draw(dear),
        stops=(Ending("leave", draw(st.floats(0.0, 200.0)), draw(dear)),),
    )


@st.composite
def readings(draw, problem, most=5):
    chosen = draw(st.lists(st.sampled_from(problem.checks), max_size=most, unique_by=lambda c: c.id))
    return [Evidence(check.id, draw(distribution(len(check.outcomes), 0.0001))) for check in chosen]


@st.composite
def happenings(draw, problem, most=6):
    """Anything at all, hard readings and repairs included, in any order."""
    events = []
    for _ in range(draw(st.integers(0, most))):
        kind = draw(st.sampled_from(["hard", "soft", "repair", "retest", "look"]))
        check = draw(st.sampled_from(problem.checks))
        repair = draw(st.sampled_from(problem.repairs)).id
        if kind == "hard":
            at = draw(st.integers(0, len(check.outcomes) - 1))
            events.append(Evidence(check.id, tuple(float(k == at) for k in range(len(check.outcomes)))))
        elif kind == "soft":
            events.append(Evidence(check.id, draw(distribution(len(check.outcomes), 0.0001))))
        elif kind == "repair":
            events.append(Repaired(repair))
        elif kind == "look":
            events.append(Looked(repair, draw(st.booleans())))
        else:
            events.append(Retested(draw(st.floats(0, 1))))
    return events
