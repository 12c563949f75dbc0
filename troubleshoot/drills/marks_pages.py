"""Printable pages: one for each trainee, one for the class, one for what the readings should have told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jinja2 import Environment, StrictUndefined

from troubleshoot.drills.debriefing import best_path, told_by, trail_words
from troubleshoot.drills.key_file import Key
from troubleshoot.drills.marking import Marks
from troubleshoot.drills.marks_table import answer_words, class_figures
from troubleshoot.drills.replaying import Replayed
from troubleshoot.knowledge.catalogue import Catalogue

_HEAD = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{{ title }}</title>
<style>
body { font: 11pt/1.4 sans-serif; max-width: 60em; margin: 2em auto; padding: 0 1em; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid; padding: .25em .5em; text-align: left; vertical-align: top; }
td.n { text-align: right; }
tr { page-break-inside: avoid; }
</style>
</head>
<body>
<h1>{{ title }}</h1>
"""

_TRAINEE = (
    _HEAD
    + """\
<p><b>{{ m.trainee }}</b>: {{ "%.0f" | format(m.total) }} of 100{% if not m.finished %}; not handed in{% endif %}.
{{ "%.0f" | format(m.minutes) }} minutes in the workshop, {{ "%.0f" | format(m.real_minutes) }} by the clock.</p>
<p>It was: {{ answer }}.</p>
<table><tr><th>Part</th><th>Points</th><th>Of</th><th>Why</th></tr>
{% for one in m.scores -%}
<tr><td>{{ one.title }}</td><td class="n">{{ "%.0f" | format(one.points) }}</td>
<td class="n">{{ "%.0f" | format(one.out_of) }}</td><td>{{ one.why }}</td></tr>
{% endfor -%}
{% if m.taken_off %}<tr><td>Ranking looked at</td><td class="n">-{{ "%.0f" | format(m.taken_off) }}</td>
<td></td><td></td></tr>{% endif %}
</table>
<h2>Your path</h2>
<ol>{% for line in path %}<li>{{ line }}</li>{% endfor %}</ol>
{% if told %}<h2>What your readings told</h2>
<ul>{% for line in told %}<li>{{ line }}</li>{% endfor %}</ul>{% endif %}
<h2>The cheapest honest path ({{ "%.0f" | format(key.best_minutes) }} minutes, {{ key.best_policy }})</h2>
<ol>{% for line in best %}<li>{{ line }}</li>{% endfor %}</ol>
</body>
</html>
"""
)

_CLASS = (
    _HEAD
    + """\
<p>{{ f.found }} of {{ f.trainees }} found it: {{ answer }}.</p>
<table><tr><th>Trainee</th><th>Total</th>
{% for one in titles %}<th>{{ one }}</th>{% endfor %}<th>Minutes</th></tr>
{% for m in marks -%}
<tr><td>{{ m.trainee }}</td><td class="n">{{ "%.0f" | format(m.total) }}</td>
{% for one in m.scores %}<td class="n">{{ "%.0f" | format(one.points) }}</td>{% endfor %}
<td class="n">{{ "%.0f" | format(m.minutes) }}</td></tr>
{% endfor %}</table>
<h2>Distribution</h2>
<table><tr><th>Marks</th><th>Trainees</th></tr>
{% for words, count in f.distribution %}{% if count -%}
<tr><td>{{ words }}</td><td>{{ "█" * count }} {{ count }}</td></tr>
{% endif %}{% endfor %}</table>
{% if f.separating %}<h2>What separated those who found it</h2>
<table><tr><th>Check</th><th>Made by those who found it</th><th>By the others</th></tr>
{% for one in f.separating -%}
<tr><td>{{ one.ask }}</td><td class="n">{{ "%.0f %%" | format(100 * one.found) }}</td>
<td class="n">{{ "%.0f %%" | format(100 * one.others) }}</td></tr>
{% endfor %}</table>{% endif %}
{% if f.wrong_turns %}<h2>Common wrong turns</h2>
<ul>{% for title, count in f.wrong_turns %}<li>{{ title }}: {{ count }}</li>{% endfor %}</ul>{% endif %}
</body>
</html>
"""
)


@dataclass(frozen=True)
class Marked:
    """A replayed hand-in with its marks."""

    replayed: Replayed
    marks: Marks


def _render(page: str, **values: object) -> str:
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    return environment.from_string(page).render(**values)


def trainee_page(one: Marked, key: Key, catalogue: Catalogue) -> str:
    """Return the page of one trainee as HTML; everything in it is escaped."""
    return _render(
        _TRAINEE,
        title=key.drill.title,
        m=one.marks,
        key=key,
        answer=answer_words(key, catalogue),
        path=trail_words(one.replayed.exercise),
        told=told_by(one.replayed.exercise, key),
        best=best_path(key, catalogue),
    )


def class_page(marked: Sequence[Marked], key: Key, catalogue: Catalogue) -> str:
    """Return the page of the class as HTML; everything in it is escaped."""
    marks = [one.marks for one in marked]
    return _render(
        _CLASS,
        title=key.drill.title,
        marks=marks,
        titles=[score.title for score in marks[0].scores] if marks else [],
        f=class_figures(marks, catalogue),
        answer=answer_words(key, catalogue),
    )
