"""The page for the customer: what was told, what was found, what was done, what it took; in plain words, one page."""

from __future__ import annotations

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from troubleshoot.case.shares import asked
from troubleshoot.reports.case_pictures import ruler_svg
from troubleshoot.reports.case_readings import ReadingLine
from troubleshoot.reports.case_report import CaseReport

SHOWN = 4
"""Readings shown to a customer: those that were not as they should be, the last ones first."""

_PAGE = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{{ r.car }}</title>
<style>
body { font: 12pt/1.5 sans-serif; color: #111; background: #fff; max-width: 46em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 1.4em; } h2 { font-size: 1.1em; margin: 1.2em 0 .2em; }
svg { max-width: 100%; height: auto; }
section { page-break-inside: avoid; }
@page { margin: 18mm; }
</style>
</head>
<body>
<h1>{{ r.car }}</h1>
<p>{% for name, value in r.whose %}{{ name }} {{ value }}. {% endfor %}Case {{ r.case }}, {{ r.opened[:10] }}.</p>
<section><h2>What you told us</h2>
<p>{{ r.concern | join("; ") or "Nothing was noted." }}
{%- if r.customer %}<br>“{{ r.customer }}”{% endif %}</p></section>
<section><h2>What was found</h2><p>{{ r.cause | join("; ") }}</p>
{% for one in r.happens %}<p>{{ one }}</p>
{% endfor %}{% for one in bad %}<p>{{ asked(one.ask) }} <strong>{{ one.read }}</strong>
{%- if one.limits %}. It should be: {{ one.limits }}{% endif %}.</p>
{% if one.ruler %}{{ ruler(one.ruler) }}{% endif %}{% endfor %}</section>
<section><h2>What was done</h2>
{% for one in r.correction %}<p>{{ one.title }}: {{ one.done }}<br>{{ one.cost }}.
Tried again afterwards: {{ one.retest }}.</p>{% else %}<p>Nothing has been repaired yet.</p>{% endfor %}</section>
<section><h2>What it took</h2>
<p>{{ r.time }} in all; parts {{ r.parts }}.</p></section>
{% if r.to_put_right %}<section><h2>Still to be put right</h2>
<ul>{% for one in r.to_put_right %}<li>{{ one }}</li>{% endfor %}</ul></section>{% endif %}
{% if not r.correction or r.doubt %}<section><h2>What is not certain</h2>
<p>{{ r.doubt or "Nothing is proved until a repair has been tried and the complaint is gone." }}</p></section>
{% endif %}
<p>If you smell fuel, or the engine stalls on the road, stop and do not drive on; call whoever looks after the car.</p>
</body>
</html>
"""


def customer_page(report: CaseReport) -> str:
    """Return the customer's page as HTML; everything in it is escaped."""
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    return environment.from_string(_PAGE).render(
        r=report, bad=_out_of_order(report), ruler=lambda one: Markup(ruler_svg(one)), asked=asked
    )


def _out_of_order(report: CaseReport) -> list[ReadingLine]:
    """Return the last readings that were not as they should be."""
    return [one for one in report.readings if one.normal is False][-SHOWN:]
