"""Quantities that many calculations ask for, defined once: words, symbol, unit, allowed and usual range."""

from typing import Annotated

from troubleshoot.calculations.fields import Quantity

EngineSpeed = Annotated[
    float, Quantity("engine speed", "N", "rpm", 1, 20000, (100, 9000), "a reading up here is likely electrical noise")
]
Cylinders = Annotated[float, Quantity("cylinders", "n", "count", 1, 16, whole=True)]
DwellAngle = Annotated[float, Quantity("dwell angle", "θ", "deg dist", 1, 180)]
Supply = Annotated[float, Quantity("supply voltage", "V", "V", 1, 32, (6, 16), "a 12 V system lies within")]
PrimaryResistance = Annotated[float, Quantity("primary circuit resistance", "R", "ohm", 0.05, 100, (0.3, 10))]
PrimaryInductance = Annotated[
    float, Quantity("primary inductance", "L", "mH", 0.05, 100, (1, 30), "is it in millihenry?")
]
Barometer = Annotated[
    float,
    Quantity("barometer", "p_b", "inHg abs", 14.77, 33, (17, 31.5), "gauge for absolute? use the station pressure"),
]
ManifoldPressure = Annotated[
    float,
    Quantity("manifold pressure", "p_m", "kPa abs", 3, 350, (15, 105), "gauge for absolute? psi for kPa?"),
]
ChargeTemperature = Annotated[float, Quantity("charge temperature", "T", "degF", -60, 400, (-40, 248), "°C for °F?")]
AirTemperature = Annotated[float, Quantity("outside temperature", "T_o", "degF", -80, 200, (-40, 140), "°C for °F?")]
Displacement = Annotated[
    float, Quantity("displacement", "V_d", "in^3", 1, 1200, (12, 1200), "litres typed for cubic inches?")
]
VolumetricEfficiency = Annotated[
    float, Quantity("volumetric efficiency", "VE", "%", 1, 200, (30, 130), "a fraction for per cent?")
]
FuelFlow = Annotated[float, Quantity("fuel flow", "ṁ", "lb/h", 0.01, 5000)]
InjectorFlow = Annotated[float, Quantity("injector flow", "q", "lb/h", 0.5, 1000, (10, 300))]
Injectors = Annotated[float, Quantity("injectors", "n_i", "count", 1, 16, whole=True)]
PulsesPerTurn = Annotated[
    float, Quantity("pulses per crank turn", "e", "1", 0.1, 60, (0.5, 12), "0.5 once a cycle, n/2 every spark")
]
DeadTime = Annotated[float, Quantity("injector dead time", "t_d", "ms", 0, 10, (0, 3), "µs for ms?")]
PulseWidth = Annotated[float, Quantity("pulse width", "PW", "ms", 0.01, 200, (1.3, 40))]
FuelDensity = Annotated[float, Quantity("fuel density", "ρ", "kg/m^3", 500, 1000, (650, 820), "is it in kg/m³?")]
FuelPerPower = Annotated[
    float,
    Quantity("brake specific fuel consumption", "BSFC", "lb/(hp*h)", 0.1, 3, (0.35, 0.9), "0.42–0.60 is usual"),
]
Power = Annotated[float, Quantity("brake power", "P", "hp", 0.1, 5000)]
Volts = Annotated[float, Quantity("voltage", "V", "V", 0.1, 60, (6, 18), "a 12 V system lies within")]
Current = Annotated[float, Quantity("current", "I", "A", 1e-4, 2000)]
PumpFlow = Annotated[float, Quantity("flow", "Q", "gal/h", 0.01, 2000)]
Lambda = Annotated[float, Quantity("lambda", "λ", "lambda", 0.3, 5, (0.65, 1.6), "outside a wideband sensor's range")]
StoichiometricRatio = Annotated[
    float, Quantity("stoichiometric air-fuel ratio", "AFR_st", "AFR", 3, 40, (6, 18), "gasoline is 14.7")
]
DryPressure = Annotated[
    float, Quantity("dry air pressure", "p_d", "inHg abs", 10, 33, (24, 31), "use the station pressure")
]
WeatherTemperature = Annotated[float, Quantity("air temperature", "T", "degF", -40, 150, (32, 120), "°C for °F?")]
RelativeHumidity = Annotated[float, Quantity("relative humidity", "RH", "%", 0, 100)]
WireTemperature = Annotated[float, Quantity("wire temperature", "T", "degF", -58, 392, (-40, 302))]
