"""One definition a calculation: a typed function becomes the name, fields, ranges, notes and documentation.

    @calculation("ignition", "I2", "Dwell time at engine speed")
    def dwell_time(dwell_angle: DwellAngle, engine_speed: EngineSpeed) -> Annotated[float, Quantity(...)]:

Parameters and results are in the inside unit of their quantity (SI; rpm for engine speed, degrees for angles, a
fraction for a share). The `Quantity` in the annotation names the unit at the edge and the range in that unit.
"""

import functools
from collections.abc import Callable, Mapping
from typing import Annotated, Any, ParamSpec, TypeVar, get_args, get_origin

from troubleshoot.calculations.evaluation import Answer, Given, answer
from troubleshoot.calculations.fields import Definition, Field, Notes, check_range
from troubleshoot.calculations.units import Measured, System, display_unit

P = ParamSpec("P")
R = TypeVar("R")


class Calculation(Definition):
    """A definition that can be calculated."""

    def evaluate(self, inputs: Mapping[str, Given]) -> dict[str, Measured]:
        """Return the results in their trade units; see `answer` for the notes that go with them."""
        return dict(self.answer(inputs).outputs)

    def answer(self, inputs: Mapping[str, Given], system: System = "us") -> Answer:
        """Calculate from inputs by field name: Measured values, or numbers in the field's unit; lists where many.

        `system` is that of the notes; the results are in trade units, for a face to convert.
        Missing inputs take their defaults. Raises CalculationRefused for a missing, unknown or unusable value and
        where the formula has no answer; uncertainty of the inputs is carried to the results (JCGM 100, first order).
        """
        return answer(self, inputs, system)


# Filled once, when the subject modules are imported; read through `registry`.
DEFINED: dict[str, Calculation] = {}


def calculation(
    subject: str, section: str, title: str, *, notes: Notes | None = None
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Register a function as a calculation and have its arguments checked against their ranges.

    The function given back refuses (CalculationRefused, a ValueError) any argument that is not finite or out of range.
    """

    def define(function: Callable[P, R]) -> Callable[P, R]:
        defined = _collect(subject, section, title, function, notes)
        DEFINED[defined.name] = defined

        @functools.wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            given = dict(zip(defined.parameters, args, strict=False)) | kwargs
            for parameter, field in zip(defined.parameters, defined.inputs, strict=True):
                if parameter in given:
                    check_range(field, given[parameter])
            return function(*args, **kwargs)

        return checked

    return define


def _collect(subject: str, section: str, title: str, function: Callable[..., Any], notes: Notes | None) -> Calculation:
    """Read the fields of a calculation from its signature."""
    annotations = dict(function.__annotations__)
    result = annotations.pop("return")
    parameters = tuple(annotations)
    defaults = function.__defaults__ or ()
    given = dict(zip(parameters[len(parameters) - len(defaults) :], defaults, strict=True))
    inputs = tuple(_field(name, annotations[name], given.get(name)) for name in parameters)
    if get_origin(result) is Annotated:
        _, quantity, *named = get_args(result)
        results: dict[str, Any] = {named[0] if named else quantity.words.replace(" ", "-"): result}
    else:
        results = dict(result.__annotations__)
    return Calculation(
        name=function.__name__.rstrip("_").replace("_", "-"),
        subject=subject,
        section=section,
        title=title,
        function=function,
        parameters=parameters,
        inputs=inputs,
        outputs=tuple(_field(name, annotation, None) for name, annotation in results.items()),
        notes=notes,
    )


def _field(parameter: str, annotation: Any, default: Any) -> Field:
    """Make the field of one annotated parameter or result."""
    kind, quantity = get_args(annotation)[:2]
    field = Field(
        name=parameter.rstrip("_").replace("_", "-"),
        words=quantity.words,
        symbol=quantity.symbol,
        unit=quantity.unit,
        metric_unit=display_unit(quantity.unit, "metric"),
        low=quantity.low,
        high=quantity.high,
        default=None,
        usual=quantity.usual,
        outside=quantity.outside,
        whole=quantity.whole,
        many=get_origin(kind) is tuple,
    )
    if default is None:
        return field
    if isinstance(default, tuple):
        return field._replace(default=tuple(_tidy(field.from_inside(value)) for value in default))
    return field._replace(default=_tidy(field.from_inside(default)))


def _tidy(value: float) -> float:
    """Take off the rounding of a unit conversion."""
    return float(f"{value:.10g}")
