"""Printable pages: one for each trainee, one for the class, one for what the readings should have told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jinja2 import Environment, StrictUndefined

from troubleshoot.classroom.debriefing import against_named, best_path, best_title, told_by, trail_words
from troubleshoot.classroom.grading import Marks
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.marks_table import answer_words, class_figures
from troubleshoot.classroom.replaying import Replayed
from troubleshoot.knowledge.catalogue import Catalogue

_HEAD = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{{ title }}</title>
<style>
@page { margin: 18mm 16mm; }
body { font: 11pt/1.4 sans-serif; max-width: 60em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 18pt; margin: 0 0 .2em; }
h2 { font-size: 13pt; margin: 1.4em 0 .4em; page-break-after: avoid; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid; padding: .25em .5em; text-align: left; vertical-align: top; }
td.n, th.n { text-align: right; }
td.n { white-space: nowrap; }
td.who { min-width: 9em; }
.bars { width: auto; }
tr, li { page-break-inside: avoid; }
.total { font-size: 15pt; }
.sign { margin-top: 2.5em; }
.write { border-bottom: 1px solid; height: 1.8em; margin: 0; }
.remark { white-space: pre-line; }
@media print { body { margin: 0; padding: 0; font-size: 10pt; } }
</style>
</head>
<body>
<h1>{{ title }}</h1>
"""

_TRAINEE = (
    _HEAD
    + """\
<p class="total"><b>{{ m.trainee }}</b>: {{ "%.0f" | format(m.total) }} of 100\
{% if not m.finished %}; not handed in{% endif %}; {{ "passed" if m.passed else "not passed" }}</p>
<p>{{ m.day }} · {{ "%.0f" | format(m.minutes) }} minutes in the workshop,
{{ "%.0f" | format(m.real_minutes) }} by the clock.</p>
<p>“{{ story }}”</p>
<p>It was: <b>{{ answer }}</b>.</p>
<table><tr><th>Part</th><th class="n">Points</th><th class="n">Of</th><th>Why</th></tr>
{% for one in m.scores -%}
<tr><td>{{ one.title }}</td><td class="n">{{ "%.0f" | format(one.points) }}</td>
<td class="n">{{ "%.0f" | format(one.out_of) }}</td><td>{{ one.why }}</td></tr>
{% endfor -%}
{% for words, count, points in m.penalties -%}
<tr><td>{{ words }}</td><td class="n">-{{ "%.0f" | format(points) }}</td><td></td><td>{{ count }}</td></tr>
{% endfor -%}
</table>
<h2>Your path</h2>
{% if path %}<ol>{% for line in path %}<li>{{ line }}</li>{% endfor %}</ol>{% else %}<p>Nothing was done.</p>{% endif %}
{% if told %}<h2>What your readings told</h2>
<ul>{% for line in told %}<li>{{ line }}</li>{% endfor %}</ul>{% endif %}
{% if against %}<h2>What you named that was not it</h2>
<ul>{% for line in against %}<li>{{ line }}</li>{% endfor %}</ul>{% endif %}
<h2>{{ best_title }}</h2>
<ol>{% for line in best %}<li>{{ line }}</li>{% endfor %}</ol>
<h2>From your trainer</h2>
{% if remark %}<p class="remark">{{ remark }}</p>{% else %}<p class="write"></p><p class="write"></p>{% endif %}
<p class="sign">Gone through with the trainee by ______________________  on ______________</p>
</body>
</html>
"""
)

_CLASS = (
    _HEAD
    + """\
<p>“{{ story }}”</p>
<p>{{ f.words }}, {{ marks | selectattr("passed") | list | length }} passed:
<b>{{ answer }}</b>.</p>
<table><tr><th>Trainee</th><th class="n">Total</th>
{% for one in scores %}<th class="n">{{ one.title }}</th>{% endfor %}<th class="n">Taken off</th>
<th class="n">Minutes used</th></tr>
{% for m in marks -%}
<tr><td class="who">{{ m.trainee }}{% if not m.finished %} (not handed in){% endif %}</td>
<td class="n"><b>{{ "%.0f" | format(m.total) }}</b></td>
{% for one in m.scores %}<td class="n">{{ "%.0f" | format(one.points) }}</td>{% endfor %}
<td class="n">{{ "%.0f" | format(m.taken_off) }}</td>
<td class="n">{{ "%.0f" | format(m.minutes) }}</td></tr>
{% endfor -%}
<tr><td>of</td><td class="n">100</td>
{% for one in scores %}<td class="n">{{ "%.0f" | format(one.out_of) }}</td>{% endfor %}
<td></td><td class="n">a good path {{ "%.0f" | format(best_minutes) }}</td></tr>
</table>
{% set noted = marks | selectattr("remarks") | list %}
{% if noted %}<h2>To look at</h2>
<ul>{% for m in noted %}<li>{{ m.trainee }} ({{ m.file }}): {{ m.remarks | join("; ") }}</li>{% endfor %}</ul>
{% endif %}
<h2>Distribution</h2>
<table class="bars"><tr><th>Marks</th><th>Trainees</th></tr>
{% for words, count in f.distribution -%}
<tr><td>{{ words }}</td><td>{% if count %}{{ "█" * count }} {{ count }}{% endif %}</td></tr>
{% endfor %}</table>
{% if f.separating %}<h2>What separated those who proved it</h2>
<table><tr><th>Check</th><th class="n">Made by those who proved it</th><th class="n">By the others</th></tr>
{% for one in f.separating -%}
<tr><td>{{ one.ask }}</td><td class="n">{{ one.proved }} of {{ f.proved }}</td>
<td class="n">{{ one.others }} of {{ f.trainees - f.proved }}</td></tr>
{% endfor %}</table>{% endif %}
{% if f.wrong_turns %}<h2>Common wrong turns</h2>
<ul>{% for title, count in f.wrong_turns %}<li>{{ title }}: named by {{ count }}</li>{% endfor %}</ul>{% endif %}
<h2>{{ best_title }}</h2>
<ol>{% for line in best %}<li>{{ line }}</li>{% endfor %}</ol>
</body>
</html>
"""
)


@dataclass(frozen=True)
class Marked:
    """A replayed hand-in with its marks."""

    replayed: Replayed
    marks: Marks
    key: Key
    remark: str = ""
    """What the trainer says to this trainee, on their page."""


def _render(page: str, **values: object) -> str:
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    return environment.from_string(page).render(**values)


def trainee_page(one: Marked, catalogue: Catalogue) -> str:
    """Return the page of one trainee as HTML; everything in it is escaped."""
    key = one.key
    return _render(
        _TRAINEE,
        title=key.drill.title,
        m=one.marks,
        answer=answer_words(key, catalogue),
        path=trail_words(one.replayed.sitting),
        told=told_by(one.replayed.sitting, key),
        against=against_named(one.replayed.sitting, key),
        story=key.drill.story,
        best_title=best_title(key),
        best=best_path(key, catalogue, one.replayed.sitting.case.settings.units),
        remark=one.remark,
    )


def class_page(marked: Sequence[Marked], key: Key, catalogue: Catalogue) -> str:
    """Return the page of the class as HTML; everything in it is escaped."""
    marks = [one.marks for one in marked]
    return _render(
        _CLASS,
        title=key.drill.title,
        marks=marks,
        scores=marks[0].scores if marks else (),
        story=key.drill.story,
        best_title=best_title(key),
        best_minutes=key.best_minutes,
        best=best_path(key, catalogue),
        f=class_figures(marks, catalogue),
        answer=answer_words(key, catalogue),
    )
