"""Factors of the allowed units to SI, as numerator and denominator.

Generated from pint by `python -m loopplan._generate`; do not edit.
"""

FACTORS: dict[str, dict[str, tuple[int, int]]] = {
    "length": {
        "m": (1, 1),
        "cm": (1, 100),
        "mm": (1, 1000),
    },
    "level": {
        "m": (1, 1),
        "cm": (1, 100),
        "mm": (1, 1000),
    },
    "area": {
        "m2": (1, 1),
        "cm2": (1, 10000),
        "mm2": (1, 1000000),
    },
    "volume": {
        "m3": (1, 1),
        "L": (1, 1000),
    },
    "flow": {
        "m3/h": (1, 3600),
        "L/s": (1, 1000),
        "m3/s": (1, 1),
        "L/min": (1, 60000),
        "m3/d": (1, 86400),
    },
    "normal air flow": {
        "Nm3/h": (1, 3600),
        "Nm3/min": (1, 60),
    },
    "velocity": {
        "m/s": (1, 1),
        "cm/s": (1, 100),
    },
    "surface loading": {
        "m/h": (1, 3600),
    },
    "evaporation rate": {
        "mm/d": (1, 86400000),
    },
    "head": {
        "m": (1, 1),
        "cm": (1, 100),
        "mm": (1, 1000),
        "mWC": (1, 1),
    },
    "pressure": {
        "kPa": (1000, 1),
        "mbar": (100, 1),
        "bar": (100000, 1),
        "Pa": (1, 1),
        "mWC": (196133, 20),
    },
    "temperature": {
        "degC": (1, 1),
    },
    "salinity": {
        "g/kg": (1, 1),
    },
    "mass": {
        "kg": (1, 1),
        "g": (1, 1000),
        "t": (1000, 1),
    },
    "density": {
        "kg/m3": (1, 1),
    },
    "concentration": {
        "mg/L": (1, 1000),
        "g/m3": (1, 1000),
    },
    "angle": {
        "deg": (5030569068109113, 288230376151711744),
    },
    "share": {
        "%": (1, 100),
    },
    "power": {
        "kW": (1000, 1),
        "W": (1, 1),
    },
    "energy": {
        "kWh": (3600000, 1),
    },
    "feed rate": {
        "kg/d": (1, 86400),
    },
    "speed": {
        "rpm": (1, 60),
    },
    "slope": {
        "%": (1, 100),
        "m/m": (1, 1),
        "mm/m": (1, 1000),
    },
    "resistance": {
        "m/(m3/s)2": (1, 1),
    },
    "time": {
        "h": (3600, 1),
        "min": (60, 1),
        "s": (1, 1),
        "d": (86400, 1),
    },
}
