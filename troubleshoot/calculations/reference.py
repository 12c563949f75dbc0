"""The reference page of all formulas with their ranges and sources, made from the definitions."""

from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.fields import Field, default_in
from troubleshoot.calculations.registry import calculations
from troubleshoot.calculations.units import show_number, shown_unit


def reference_page() -> str:
    """Return the reference of all calculations as Markdown."""
    lines = [
        "# Formulas",
        "",
        "Made from the program by `troubleshoot calc --reference`. Symbols are in SI units unless a line says",
        "otherwise; N is engine speed in rpm, angles are in degrees, shares are fractions. Ranges are in the units",
        "one types.",
    ]
    subject = ""
    for one in calculations():
        if one.subject != subject:
            subject = one.subject
            lines += ["", f"## {subject.capitalize()}"]
        lines += ["", *_entry(one)]
    return "\n".join(lines) + "\n"


def _entry(one: Calculation) -> list[str]:
    """Return the lines of one calculation."""
    parts = one.documentation
    return [
        f"### {one.title}: `{one.name}`",
        "",
        parts.summary,
        "",
        "```text",
        *parts.formula.splitlines(),
        "```",
        "",
        "| symbol | field | words | unit | allowed | usual | if not given |",
        "|---|---|---|---|---|---|---|",
        *(_row(field) for field in one.inputs),
        *(_result_row(field) for field in one.outputs),
        "",
        f"- Valid: {parts.valid}",
        f"- Source: {parts.source}",
        f"- Use: {parts.use}",
    ]


def _row(field: Field) -> str:
    """Return the table row of an input."""
    usual = "" if field.usual is None else f"{show_number(field.usual[0])} to {show_number(field.usual[1])}"
    default = default_in(field, field.unit) or "required"
    many = " (a list)" if field.many else ""
    cells = (_safe(field.symbol), field.name, field.words + many, _units(field), field.allowed, usual, default)
    return "| " + " | ".join(cells) + " |"


def _result_row(field: Field) -> str:
    """Return the table row of a result."""
    return f"| {_safe(field.symbol)} | = {field.name} | {field.words} | {_units(field)} | | | |"


def _units(field: Field) -> str:
    """Return the units of a field, trade and metric."""
    trade, metric = shown_unit(field.unit), shown_unit(field.metric_unit)
    return trade if trade == metric else f"{trade} ({metric})"


def _safe(symbol: str) -> str:
    """Return a symbol that Markdown shows as it is."""
    return f"`{symbol}`"
