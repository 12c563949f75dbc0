"""A case as one printable page of HTML; everything in it is escaped."""

from __future__ import annotations

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from troubleshoot.case.shares import asked, percent
from troubleshoot.reports.case_pictures import belief_svg, ruler_svg
from troubleshoot.reports.case_report import CaseReport
from troubleshoot.reports.plots import svg_plot

_PAGE = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Case {{ r.case }}</title>
<style>
body { font: 11pt/1.4 sans-serif; color: #111; background: #fff; max-width: 60em; margin: 2em auto; padding: 0 1em; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid; padding: .25em .5em; text-align: left; vertical-align: top; }
h1 { font-size: 1.4em; margin: 0; } h2 { font-size: 1.1em; margin: .8em 0 .2em; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .2em 1em; margin: .5em 0; }
dt { font-weight: bold; grid-column: 1; } dd { grid-column: 2; margin: 0; }
p, figure, ol, ul { margin: .2em 0; }
svg { max-width: 100%; height: auto; }
tr, dd { page-break-inside: avoid; }
@page { margin: 11mm; }
@media print {
  body { font: 8pt/1.2 sans-serif; max-width: none; margin: 0; padding: 0; }
  th, td { padding: .1em .4em; }
  td > svg { height: 9mm; } figure > svg { height: 26mm; }
  ol, ul { columns: 2; }
}
</style>
</head>
<body>
<h1>Case {{ r.case }}</h1>
<p>Opened {{ r.opened }} UTC. Trees {{ r.trees }}.</p>
<dl>
<dt>Car</dt><dd>{{ r.car }}{% for name, value in r.car_facts %}; {{ name }}: {{ value }}{% endfor %}</dd>
<dt>Concern</dt><dd>{{ r.concern | join("; ") or "none chosen" }}
{%- if r.customer %}<br>“{{ r.customer }}”{% endif %}</dd>
<dt>Cause</dt><dd>{{ r.cause | join("; ") }}</dd>
<dt>Correction</dt>
{% for one in r.correction -%}
<dd>{{ one.title }}: {{ one.done }} ({{ one.cost }})<br>Retest: {{ one.retest }}.
{%- if one.proof %} What proves it: {{ one.proof }}{% endif %}</dd>
{% else -%}
<dd>none yet</dd>
{% endfor -%}
<dt>State</dt><dd>{{ r.state }} {{ r.time }}; parts {{ r.parts }}.</dd>
{% if r.doubt %}<dt>Doubt</dt><dd>{{ r.doubt }}</dd>{% endif %}
</dl>
{% macro items(title, found) %}{% if found %}<h2>{{ title }}</h2>
<ul>{% for one in found %}<li>{{ one }}</li>{% endfor %}</ul>{% endif %}{% endmacro -%}
{{ items("To put right", r.to_put_right) }}
{% if r.readings %}<h2>Readings</h2>
<table><tr><th>Check</th><th>Read</th><th>Meaning</th><th>Limits</th><th>Basis</th></tr>
{% for one in r.readings -%}
<tr><td>{{ one.ask }}</td>
<td>{{ one.read }}</td>
<td>{{ one.verdict }}{% if one.normal is not none %}{{ ", " if one.verdict }}
{{- "good" if one.normal else "not good" }}{% endif %}</td>
<td>{{ one.limits }}{% if not one.ruler %}{% for line in one.worked_out %}<br>{{ line }}{% endfor %}{% endif %}</td>
<td>{{ one.basis }}{% if one.source %}<br>{{ one.source }}{% endif %}</td></tr>
{% if one.ruler %}<tr><td colspan="3">{{ ruler(one.ruler) }}</td>
<td colspan="2">{{ one.worked_out | join("; ") }}</td></tr>{% endif %}
{% endfor %}</table>{% endif %}
{% for drawing in drawings %}<figure>{{ drawing }}</figure>
{% endfor -%}
{% if course %}<h2>How sure: {{ r.course_of }}</h2><figure>{{ course }}</figure>
<ol>{% for one in r.course %}<li>{{ asked(one.title) }} {{ one.answer }}</li>{% endfor %}</ol>{% endif %}
{% if r.causes %}<h2>Likely {{ r.likely_when }}</h2>
<table><tr><th>Probability</th><th>Cause</th><th>In words</th></tr>
{% for one in r.causes -%}
<tr><td>{{ percent(one.probability) }}</td><td>{{ one.title }}</td><td>{{ one.words }}</td></tr>
{% endfor -%}
<tr><td>{{ percent(r.something_else) }}</td><td>something not listed here</td><td></td></tr>
</table>{% endif %}
{% if r.trail %}<h2>Trail</h2>
<table><tr><th>No</th><th>Time (UTC)</th><th>What</th><th>Answer</th><th>Meaning</th><th>Minutes</th></tr>
{% for one in r.trail -%}
<tr><td>{{ one.number or "" }}</td><td>{{ one.time }}</td><td>{{ one.title }}</td><td>{{ one.answer }}</td>
<td>{{ one.verdict }}</td><td>{{ "%.0f" | format(one.minutes) if one.minutes else "" }}</td></tr>
{% endfor %}</table>{% endif %}
{{ items("Cautions given", r.cautions) }}
{{ items("Before against after", r.compared) }}
{{ items("Notes", r.notes) }}
{{ items("Files", r.files) }}
{{ items("Worth knowing", r.notices) }}
</body>
</html>
"""


def as_html(report: CaseReport) -> str:
    """Return a report as a whole page of HTML."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=False)
    return environment.from_string(_PAGE).render(
        r=report,
        drawings=[Markup(svg_plot(chart)) for chart in report.charts],
        ruler=lambda one: Markup(ruler_svg(one)),
        course=Markup(belief_svg(report.course_of, report.course)),
        percent=percent,
        asked=asked,
    )
