"""Belief against published Bayesian networks: the burglary and the chest clinic, each with its source."""

from __future__ import annotations

from itertools import product

import pytest
from enumerated_models import YES, binary, enumerated

from troubleshoot.reasoning.belief import Evidence, believe


def test_burglary():
    """Russell and Norvig, burglary network: unnormalised .00059224, .0014919; P(B | j, m) = .284; published."""
    alarm = {(1, 1): 0.95, (1, 0): 0.94, (0, 1): 0.29, (0, 0): 0.001}
    states, john, mary = {}, {}, {}
    for b, e, a in product((0, 1), repeat=3):
        name = f"{b}{e}{a}"
        rings = alarm[b, e]
        states[name] = (0.001 if b else 0.999) * (0.002 if e else 0.998) * (rings if a else 1 - rings)
        john[name], mary[name] = binary(0.9 if a else 0.05), binary(0.7 if a else 0.01)
    problem = enumerated(states, {"john": (("calls", "not"), john), "mary": (("calls", "not"), mary)})
    belief = believe(problem, [Evidence("john", YES), Evidence("mary", YES)])
    burglary = sum(belief.probability(name) for name in states if name[0] == "1")
    assert burglary == pytest.approx(0.284171835, abs=5e-10)
    weight = sum(w * john[n][0] * mary[n][0] for n, w in states.items())
    assert burglary * weight == pytest.approx(0.00059224259, abs=5e-12)
    assert (1 - burglary) * weight == pytest.approx(0.00149185765, abs=5e-12)


def asia():
    """The chest clinic: hidden joint states of asia, tub, smoke, lung, bronc; checks for what is seen."""
    states = {}
    seen = {name: {} for name in ("asia", "smoke", "xray", "dysp")}
    for a, t, s, c, b in product((1, 0), repeat=5):
        name = f"{a}{t}{s}{c}{b}"
        p_t, p_c, p_b = (0.05 if a else 0.01), (0.1 if s else 0.01), (0.6 if s else 0.3)
        states[name] = (
            (0.01 if a else 0.99) * 0.5 * (p_t if t else 1 - p_t) * (p_c if c else 1 - p_c) * (p_b if b else 1 - p_b)
        )
        either = t or c
        seen["asia"][name], seen["smoke"][name] = binary(float(a)), binary(float(s))
        seen["xray"][name] = binary(0.98 if either else 0.05)
        seen["dysp"][name] = binary({(1, 1): 0.9, (1, 0): 0.7, (0, 1): 0.8, (0, 0): 0.1}[int(either), b])
    return enumerated(states, {name: (("yes", "no"), moved) for name, moved in seen.items()})


@pytest.mark.parametrize(
    ("evidence", "tub", "lung", "bronc", "smoke", "either"),
    [
        (("xray", "dysp"), 0.1139333254, 0.6212527967, 0.6818685385, 0.7856103861, 0.7287250930),
        (("dysp",), 0.0188453075, 0.1027592228, 0.8339673363, 0.6339968796, 0.1205358343),
        (("xray",), 0.0924108832, 0.4887114013, 0.5063261560, 0.6877538534, 0.5760396859),
        (("asia", "dysp"), 0.0877509650, 0.0995251451, 0.8114020716, 0.6259198578, 0.1822998528),
        (("smoke", "xray", "dysp"), 0.0752662576, 0.7237140153, 0.7137055080, 1.0, 0.7914536471),
    ],
)
def test_chest_clinic(evidence, tub, lung, bronc, smoke, either):
    """S. Lauritzen, D. Spiegelhalter, JRSS-B 50 (1988) 157-224; posteriors as gRain prints them; published."""
    problem = asia()
    belief = believe(problem, [Evidence(name, YES) for name in evidence])

    def held(test):
        return sum(belief.probability(cause.id) for cause in problem.causes if test(cause.id))

    assert held(lambda n: n[1] == "1") == pytest.approx(tub, abs=5e-11)
    assert held(lambda n: n[3] == "1") == pytest.approx(lung, abs=5e-11)
    assert held(lambda n: n[4] == "1") == pytest.approx(bronc, abs=5e-11)
    assert held(lambda n: n[2] == "1") == pytest.approx(smoke, abs=5e-11)
    assert held(lambda n: "1" in (n[1], n[3])) == pytest.approx(either, abs=5e-11)


def test_chest_clinic_pair():
    """Two at once, exact: P(lung and bronc | xray, dysp) = 9922500 / 25239323; recomputed in fractions."""
    problem = asia()
    belief = believe(problem, [Evidence("xray", YES), Evidence("dysp", YES)])
    both = sum(belief.probability(c.id) for c in problem.causes if c.id[3] == "1" and c.id[4] == "1")
    lung_tub = sum(belief.probability(c.id) for c in problem.causes if c.id[3] == "1" and c.id[1] == "1")
    assert both == pytest.approx(9922500 / 25239323, abs=1e-12)
    assert lung_tub == pytest.approx(0.0064610291, abs=5e-11)
