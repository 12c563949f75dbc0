"""The table of units: dimension, exact factor to the inside unit, how it is shown, its partner in the other system.

Inside, everything is SI except what the trade's own formulas keep: engine speed in rpm and angles in degrees.
Factors are exact definitions (NIST SP 811); inches of mercury and of water are the conventional ones
(mercury at 0 degC 13 595.1 kg/m3, water 1000 kg/m3, standard gravity).
"""

from typing import NamedTuple


class Unit(NamedTuple):
    """One unit: `inside = value * factor + offset` in the inside unit of `dimension`."""

    name: str
    dimension: str
    factor: float
    offset: float = 0.0
    shown: str = ""
    metric: str = ""
    us: str = ""


STANDARD_GRAVITY = 9.80665
POUND = 0.45359237
POUND_FORCE = POUND * STANDARD_GRAVITY
OUNCE_FORCE = POUND_FORCE / 16
INCH = 0.0254
FOOT = 0.3048
GALLON = 231 * INCH**3
PSI = POUND_FORCE / INCH**2
INCH_OF_MERCURY = INCH * 13595.1 * STANDARD_GRAVITY
INCH_OF_WATER = INCH * 1000 * STANDARD_GRAVITY
HORSEPOWER = 550 * FOOT * POUND_FORCE
BTU = 1055.05585262  # International Table
TORR = 101325 / 760
CIRCULAR_MIL = 3.141592653589793 / 4 * (INCH / 1000) ** 2
ZERO_CELSIUS = 273.15
ZERO_FAHRENHEIT = 459.67 * 5 / 9

# (name, dimension, factor, offset, shown, metric partner, US partner); a partner left empty means "stays as it is".
_ROWS: tuple[tuple[str, str, float, float, str, str, str], ...] = (
    ("1", "number", 1, 0, "", "", ""),
    ("count", "count", 1, 0, "", "", ""),
    ("step", "count", 1, 0, "steps", "", ""),
    ("lambda", "lambda", 1, 0, "λ", "", ""),
    ("AFR", "air-fuel ratio", 1, 0, "AFR", "", ""),
    ("%", "share", 0.01, 0, "%", "", ""),
    ("share", "share", 1, 0, "", "", ""),
    ("deg", "angle", 1, 0, "°", "", ""),
    ("deg crank", "crank angle", 1, 0, "° crank", "", ""),
    ("deg dist", "distributor angle", 1, 0, "° distributor", "", ""),
    ("turn", "turn", 1, 0, "turn", "", ""),
    ("rpm", "engine speed", 1, 0, "rpm", "", ""),
    ("Hz", "frequency", 1, 0, "Hz", "", ""),
    ("kHz", "frequency", 1e3, 0, "kHz", "", ""),
    ("s", "time", 1, 0, "s", "", ""),
    ("ms", "time", 1e-3, 0, "ms", "", ""),
    ("us", "time", 1e-6, 0, "µs", "", ""),
    ("min", "time", 60, 0, "min", "", ""),
    ("h", "time", 3600, 0, "h", "", ""),
    ("V", "voltage", 1, 0, "V", "", ""),
    ("mV", "voltage", 1e-3, 0, "mV", "", ""),
    ("kV", "voltage", 1e3, 0, "kV", "", ""),
    ("A", "current", 1, 0, "A", "", ""),
    ("mA", "current", 1e-3, 0, "mA", "", ""),
    ("ohm", "resistance", 1, 0, "Ω", "", ""),
    ("mohm", "resistance", 1e-3, 0, "mΩ", "", ""),
    ("kohm", "resistance", 1e3, 0, "kΩ", "", ""),
    ("Mohm", "resistance", 1e6, 0, "MΩ", "", ""),
    ("H", "inductance", 1, 0, "H", "", ""),
    ("mH", "inductance", 1e-3, 0, "mH", "", ""),
    ("uH", "inductance", 1e-6, 0, "µH", "", ""),
    ("F", "capacitance", 1, 0, "F", "", ""),
    ("uF", "capacitance", 1e-6, 0, "µF", "", ""),
    ("nF", "capacitance", 1e-9, 0, "nF", "", ""),
    ("J", "energy", 1, 0, "J", "", ""),
    ("mJ", "energy", 1e-3, 0, "mJ", "", ""),
    ("W", "power", 1, 0, "W", "", ""),
    ("kW", "power", 1e3, 0, "kW", "", "hp"),
    ("hp", "power", HORSEPOWER, 0, "hp", "kW", ""),
    ("N*m", "torque", 1, 0, "N·m", "", "lbf*ft"),
    ("lbf*ft", "torque", FOOT * POUND_FORCE, 0, "lbf·ft", "N*m", ""),
    ("N", "force", 1, 0, "N", "", "lbf"),
    ("ozf", "force", OUNCE_FORCE, 0, "ozf", "gf", ""),
    ("lbf", "force", POUND_FORCE, 0, "lbf", "N", ""),
    ("gf", "force", STANDARD_GRAVITY / 1000, 0, "g", "", "ozf"),
    ("kgf", "force", STANDARD_GRAVITY, 0, "kgf", "N", "lbf"),
    ("m", "length", 1, 0, "m", "", "ft"),
    ("cm", "length", 0.01, 0, "cm", "", "in"),
    ("mm", "length", 1e-3, 0, "mm", "", "in"),
    ("um", "length", 1e-6, 0, "µm", "", ""),
    ("in", "length", INCH, 0, "in", "mm", ""),
    ("thou", "length", INCH / 1000, 0, "thou", "mm", ""),
    ("ft", "length", FOOT, 0, "ft", "m", ""),
    ("m^2", "area", 1, 0, "m²", "", ""),
    ("cm^2", "area", 1e-4, 0, "cm²", "", "in^2"),
    ("mm^2", "area", 1e-6, 0, "mm²", "", ""),
    ("in^2", "area", INCH**2, 0, "in²", "cm^2", ""),
    ("circular_mil", "area", CIRCULAR_MIL, 0, "circular mil", "mm^2", ""),
    ("AWG", "wire gauge", 1, 0, "AWG", "", ""),
    ("m^3", "volume", 1, 0, "m³", "", ""),
    ("L", "volume", 1e-3, 0, "L", "", "in^3"),
    ("mL", "volume", 1e-6, 0, "mL", "", "in^3"),
    ("in^3", "volume", INCH**3, 0, "in³", "L", ""),
    ("gal", "volume", GALLON, 0, "gal", "L", ""),
    ("kg", "mass", 1, 0, "kg", "", "lb"),
    ("g", "mass", 1e-3, 0, "g", "", ""),
    ("lb", "mass", POUND, 0, "lb", "kg", ""),
    ("oz", "mass", POUND / 16, 0, "oz", "g", ""),
    ("kg/s", "mass flow", 1, 0, "kg/s", "", "lb/h"),
    ("kg/h", "mass flow", 1 / 3600, 0, "kg/h", "", "lb/h"),
    ("g/s", "mass flow", 1e-3, 0, "g/s", "", "lb/h"),
    ("lb/h", "mass flow", POUND / 3600, 0, "lb/h", "kg/h", ""),
    ("m^3/s", "volume flow", 1, 0, "m³/s", "", ""),
    ("L/h", "volume flow", 1e-3 / 3600, 0, "L/h", "", "gal/h"),
    ("L/min", "volume flow", 1e-3 / 60, 0, "L/min", "", "gal/h"),
    ("gal/h", "volume flow", GALLON / 3600, 0, "gal/h", "L/h", ""),
    ("m^3/h", "volume flow", 1 / 3600, 0, "m³/h", "", "ft^3/min"),
    ("ft^3/min", "volume flow", FOOT**3 / 60, 0, "cfm", "m^3/h", ""),
    ("kg/m^3", "density", 1, 0, "kg/m³", "", ""),
    ("lb/gal", "density", POUND / GALLON, 0, "lb/gal", "kg/m^3", ""),
    ("g/mL", "density", 1000, 0, "g/mL", "", ""),
    ("Pa*s", "viscosity", 1, 0, "Pa·s", "", ""),
    ("mPa*s", "viscosity", 1e-3, 0, "mPa·s", "", ""),
    ("Pa", "pressure", 1, 0, "Pa", "", ""),
    ("kPa", "pressure", 1e3, 0, "kPa", "", "psi"),
    ("bar", "pressure", 1e5, 0, "bar", "", "psi"),
    ("mbar", "pressure", 100, 0, "mbar", "", "psi"),
    ("psi", "pressure", PSI, 0, "psi", "bar", ""),
    ("inHg", "pressure", INCH_OF_MERCURY, 0, "inHg", "kPa", ""),
    ("inH2O", "pressure", INCH_OF_WATER, 0, "inH₂O", "kPa", ""),
    ("Pa abs", "absolute pressure", 1, 0, "Pa absolute", "", ""),
    ("kPa abs", "absolute pressure", 1e3, 0, "kPa absolute", "", "inHg abs"),
    ("bar abs", "absolute pressure", 1e5, 0, "bar absolute", "", "psia"),
    ("psia", "absolute pressure", PSI, 0, "psi absolute", "kPa abs", ""),
    ("inHg abs", "absolute pressure", INCH_OF_MERCURY, 0, "inHg absolute", "kPa abs", ""),
    ("psi/min", "pressure per time", PSI / 60, 0, "psi/min", "bar/min", ""),
    ("bar/min", "pressure per time", 1e5 / 60, 0, "bar/min", "", "psi/min"),
    ("kPa/min", "pressure per time", 1e3 / 60, 0, "kPa/min", "", "psi/min"),
    ("K", "temperature", 1, 0, "K", "", ""),
    ("degC", "temperature", 1, ZERO_CELSIUS, "°C", "", "degF"),
    ("degF", "temperature", 5 / 9, ZERO_FAHRENHEIT, "°F", "degC", ""),
    ("degR", "temperature", 5 / 9, 0, "°R", "K", ""),
    ("degC difference", "temperature difference", 1, 0, "°C", "", "degF difference"),
    ("degF difference", "temperature difference", 5 / 9, 0, "°F", "degC difference", ""),
    ("kg*m^2", "moment of inertia", 1, 0, "kg·m²", "", ""),
    ("g*cm^2", "moment of inertia", 1e-7, 0, "g·cm²", "", ""),
    ("kg/J", "specific fuel consumption", 1, 0, "kg/J", "", ""),
    ("lb/(hp*h)", "specific fuel consumption", POUND / (HORSEPOWER * 3600), 0, "lb/hp·h", "g/(kW*h)", ""),
    ("g/(kW*h)", "specific fuel consumption", 1e-3 / 3.6e6, 0, "g/kW·h", "", "lb/(hp*h)"),
    ("J/m^3", "energy by volume", 1, 0, "J/m³", "", ""),
    ("Btu/gal", "energy by volume", BTU / GALLON, 0, "Btu/gal", "MJ/L", ""),
    ("MJ/L", "energy by volume", 1e9, 0, "MJ/L", "", "Btu/gal"),
    ("J/kg", "energy by mass", 1, 0, "J/kg", "", ""),
    ("MJ/kg", "energy by mass", 1e6, 0, "MJ/kg", "", ""),
    ("Btu/lb", "energy by mass", BTU / POUND, 0, "Btu/lb", "MJ/kg", ""),
    ("kJ/mol", "energy by amount", 1e3, 0, "kJ/mol", "", ""),
    ("ohm/m", "resistance by length", 1, 0, "Ω/m", "", ""),
    ("mohm/m", "resistance by length", 1e-3, 0, "mΩ/m", "", "ohm/kft"),
    ("ohm/kft", "resistance by length", 1 / (1000 * FOOT), 0, "Ω/1000 ft", "mohm/m", ""),
    ("gal/(h*V)", "pump flow per volt", GALLON / 3600, 0, "gal/h per V", "L/(h*V)", ""),
    ("L/(h*V)", "pump flow per volt", 1e-3 / 3600, 0, "L/h per V", "", "gal/(h*V)"),
    ("gal/(h*psi)", "flow lost per pressure", GALLON / 3600 / PSI, 0, "gal/h per psi", "L/(h*bar)", ""),
    ("L/(h*bar)", "flow lost per pressure", 1e-3 / 3600 / 1e5, 0, "L/h per bar", "", "gal/(h*psi)"),
    ("1/(m*Pa)", "ionisation per length and pressure", 1, 0, "per m·Pa", "", ""),
    ("1/(cm*Torr)", "ionisation per length and pressure", 1 / (0.01 * TORR), 0, "per cm·Torr", "", ""),
    ("V/(m*Pa)", "voltage per length and pressure", 1, 0, "V/(m·Pa)", "", ""),
    ("V/(cm*Torr)", "voltage per length and pressure", 1 / (0.01 * TORR), 0, "V/(cm·Torr)", "", ""),
    ("Pa*m", "pressure times gap", 1, 0, "Pa·m", "", ""),
    ("Torr*cm", "pressure times gap", 0.01 * TORR, 0, "Torr·cm", "", ""),
)

UNITS: dict[str, Unit] = {row[0]: Unit(*row) for row in _ROWS}

# Spellings people type, most general first; the keys of UNITS are spellings of themselves.
SPELLINGS: dict[str, str] = {
    # pressure
    "psig": "psi", "psi gauge": "psi", "lb/in2": "psi", "lb/in^2": "psi", "lbf/in^2": "psi", "lbs/in^2": "psi",
    "pounds": "lb",
    "inhg": "inHg", "in hg": "inHg", "in. hg": "inHg", "in-hg": "inHg", '"hg': "inHg", "inches hg": "inHg",
    "inches of mercury": "inHg", "inh2o": "inH2O", "in h2o": "inH2O", "in. h2o": "inH2O", "in wc": "inH2O",
    "inwc": "inH2O", '"h2o': "inH2O", "inches of water": "inH2O", "bars": "bar", "barg": "bar", "kpag": "kPa",
    "kpaa": "kPa abs", "kpa absolute": "kPa abs", "bara": "bar abs", "bar absolute": "bar abs",
    "psi abs": "psia", "psi absolute": "psia", "inhga": "inHg abs", "inhg absolute": "inHg abs", "millibar": "mbar",
    "hpa": "mbar", "kilopascal": "kPa", "kilopascals": "kPa", "pascal": "Pa",
    # electricity
    "volt": "V", "volts": "V", "vdc": "V", "v dc": "V", "millivolt": "mV", "millivolts": "mV", "kilovolt": "kV",
    "kilovolts": "kV", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "adc": "A", "milliamp": "mA",
    "milliamps": "mA", "ohms": "ohm", "Ω": "ohm", "kΩ": "kohm", "KΩ": "kohm", "k": "kohm", "K ohm": "kohm",
    "k ohm": "kohm", "kohms": "kohm", "mΩ": "mohm", "mOhm": "mohm", "MOhm": "Mohm", "milliohm": "mohm",
    "milliohms": "mohm", "MΩ": "Mohm",
    "megohm": "Mohm", "megaohm": "Mohm", "henry": "H", "millihenry": "mH", "millihenries": "mH", "µH": "uH",
    "µF": "uF", "mfd": "uF", "microfarad": "uF", "microfarads": "uF", "nanofarad": "nF", "farad": "F",
    "millijoule": "mJ", "millijoules": "mJ", "joule": "J", "joules": "J",
    # speed, time, angle
    "r/min": "rpm", "per min": "rpm", "revs": "rpm", "rev/min": "rpm", "/min": "rpm", "min-1": "rpm", "min^-1": "rpm",
    "hertz": "Hz", "sec": "s", "secs": "s",
    "second": "s", "seconds": "s", "msec": "ms", "millisecond": "ms", "milliseconds": "ms", "µs": "us", "usec": "us",
    "microsecond": "us", "microseconds": "us", "mins": "min", "minute": "min", "minutes": "min", "hr": "h",
    "hrs": "h", "hour": "h", "hours": "h", "°": "deg", "degree": "deg", "degrees": "deg", "degs": "deg",
    "° crank": "deg crank", "crank deg": "deg crank", "crank degrees": "deg crank", "deg ca": "deg crank",
    "° ca": "deg crank", "° distributor": "deg dist", "° dist": "deg dist", "deg distributor": "deg dist",
    "distributor deg": "deg dist", "distributor degrees": "deg dist", "turns": "turn", "rev": "turn",
    # temperature
    "°F": "degF", "F": "degF", "deg f": "degF", "deg. f": "degF", "degrees f": "degF", "degrees fahrenheit": "degF",
    "° f": "degF", "fahrenheit": "degF",
    "°C": "degC", "C": "degC", "deg c": "degC", "deg. c": "degC", "degrees c": "degC", "degrees celsius": "degC",
    "° c": "degC", "celsius": "degC",
    "centigrade": "degC", "kelvin": "K", "°K": "K", "°R": "degR", "rankine": "degR",
    # length, area, wire, volume, mass, force
    '"': "in", "″": "in", "in.": "in", "inch": "in", "inches": "in", "'": "ft", "′": "ft", "ft.": "ft",
    "feet": "ft", "foot": "ft", "thousandths": "thou", "thousandth": "thou", "mil": "thou", "mils": "thou",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "millimetre": "mm", "millimeter": "mm",
    "millimetres": "mm", "millimeters": "mm", "µm": "um", "micron": "um", "microns": "um", "mm²": "mm^2",
    "mm2": "mm^2", "sq mm": "mm^2", "sqmm": "mm^2", "cm²": "cm^2", "cm2": "cm^2", "in²": "in^2", "in2": "in^2",
    "sq in": "in^2", "cmil": "circular_mil", "circular mil": "circular_mil", "circular mils": "circular_mil",
    "ga": "AWG", "gauge": "AWG", "awg": "AWG", "ci": "in^3", "cid": "in^3", "cu in": "in^3", "cu. in.": "in^3",
    "cuin": "in^3", "in³": "in^3", "in3": "in^3", "cubic inches": "in^3", "cubic inch": "in^3", "cc": "mL",
    "cm³": "mL", "cm3": "mL", "cm^3": "mL", "ml": "mL", "millilitre": "mL", "milliliter": "mL", "l": "L",
    "litre": "L", "litres": "L", "liter": "L", "liters": "L", "ltr": "L", "gallon": "gal", "gallons": "gal",
    "us gal": "gal", "usgal": "gal", "lbs": "lb", "pound": "lb", "ounce": "oz", "ounces": "oz", "gram": "g",
    "grams": "g", "kilogram": "kg", "kilograms": "kg", "newton": "N", "newtons": "N",
    "oz force": "ozf", "ounce-force": "ozf", "pound-force": "lbf", "grams-force": "gf", "gram-force": "gf",
    # flow, power, torque, fuel
    "lb/hr": "lb/h", "lbs/hr": "lb/h", "lbs/h": "lb/h", "pph": "lb/h", "lb per hour": "lb/h", "kg/hr": "kg/h",
    "lph": "L/h", "l/hr": "L/h", "lpm": "L/min", "gph": "gal/h", "gal/hr": "gal/h", "cfm": "ft^3/min",
    "ft³/min": "ft^3/min", "ft3/min": "ft^3/min", "m³/h": "m^3/h", "m3/h": "m^3/h", "horsepower": "hp", "bhp": "hp",
    "kilowatt": "kW", "kilowatts": "kW", "watt": "W", "watts": "W", "nm": "N*m", "n·m": "N*m", "newton metre": "N*m",
    "ft-lb": "lbf*ft", "ft lb": "lbf*ft", "ft lbs": "lbf*ft", "lb-ft": "lbf*ft", "lb ft": "lbf*ft",
    "ft-lbs": "lbf*ft", "lbf·ft": "lbf*ft", "ft·lbf": "lbf*ft", "lbft": "lbf*ft", "ftlb": "lbf*ft",
    "lb/hp/h": "lb/(hp*h)", "lb/hp-h": "lb/(hp*h)", "lb/hp-hr": "lb/(hp*h)", "lb/hp·h": "lb/(hp*h)",
    "lb/hph": "lb/(hp*h)", "g/kwh": "g/(kW*h)", "g/kW·h": "g/(kW*h)", "g/kw-h": "g/(kW*h)",
    "kg/m³": "kg/m^3", "kg/m3": "kg/m^3", "g/cc": "g/mL", "cp": "mPa*s", "centipoise": "mPa*s",
    "mpas": "mPa*s", "g·cm²": "g*cm^2", "g·cm^2": "g*cm^2", "gcm2": "g*cm^2", "kg·m²": "kg*m^2", "mΩ/m": "mohm/m",
    # plain numbers
    "percent": "%", "per cent": "%", "pct": "%", "λ": "lambda", "afr": "AFR", ":1": "AFR", "to 1": "AFR",
    "steps": "step", "counts": "count", "pcs": "count", "×": "1", "x": "1",
}  # fmt: skip

_DEGREES = {"k": "K", "F": "degF", "f": "degF", "C": "degC", "c": "degC", "°": "deg"}

# What a word means only where that dimension is asked for: "20 oz" is a force at a spring scale.
SPELLINGS_WHERE_ASKED: dict[str, dict[str, str]] = {
    "force": {
        "oz": "ozf",
        "ounce": "ozf",
        "ounces": "ozf",
        "lb": "lbf",
        "lbs": "lbf",
        "pounds": "lbf",
        "pound": "lbf",
        "g": "gf",
        "gram": "gf",
        "grams": "gf",
        "kg": "kgf",
        "kilogram": "kgf",
        "kilograms": "kgf",
    },
    "distributor angle": {"deg": "deg dist"},
    "crank angle": {"deg": "deg crank"},
    "absolute pressure": {
        "psi": "psia",
        "kPa": "kPa abs",
        "bar": "bar abs",
        "inHg": "inHg abs",
        "Pa": "Pa abs",
    },
    "count": {"cylinders": "count", "cyl": "count", "lobes": "count", "injectors": "count"},
    "temperature": _DEGREES,
    "temperature difference": _DEGREES,
}
