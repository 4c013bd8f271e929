"""All wording and rounding of numbers, for screen, test and record.

Each function takes SI and returns one text. A number always comes with its unit; heat
input always says its basis. The worked-line forms at the foot are what a notebook
prints and what its tests compare.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaslab import units
from gaslab.refit.criteria import Finding
from gaslab.show.palette import MARKS

# What a quantity is shown in: unit and decimals.
FORMS = {
    "pressure": ("mbar", 1),
    "fine pressure": ("mbar", 2),
    "pressure in pascal": ("Pa", 0),
    "gas rate": ("m3/h", 2),
    "leak": ("dm3/h", 1),
    "heat input": ("kW", 1),
    "burner input": ("kW", 2),
    "length": ("m", 2),
    "short length": ("mm", 0),
    "volume": ("m3", 1),
    "installation volume": ("m3", 4),
    "index": ("m3", 3),
    "litres": ("litre", 1),
    "area": ("cm2", 0),
    "time": ("s", 0),
    "watch": ("s", 1),
    "minutes": ("min", 0),
    "calorific value": ("MJ/m3", 1),
    "share": ("%", 1),
    "carbon dioxide": ("%", 1),
    "parts": ("ppm", 0),
    "ratio": ("1", 4),
    "voltage": ("mV", 1),
    "temperature": ("degC", 1),
    "air changes": ("1/h", 1),
    "air flow": ("l/s", 1),
    "speed": ("m/s", 1),
    "noise": ("dB(A)", 1),
    "vibration": ("m/s2", 1),
    "dust": ("mg/m3", 1),
    "plain": ("1", 2),
}


def number(value: float, form: str, places: int | None = None) -> str:
    """Return an SI number as people read it, by the name of its form in `FORMS`.

    >>> number(2100.0, "pressure"), number(1.1 / 3600, "gas rate")
    ('21.0 mbar', '1.10 m³/h')
    """
    unit, usual = FORMS[form]
    if math.isinf(value):
        return "never"
    return units.shown(value, unit, usual if places is None else places)


def figure(value: float, form: str, places: int | None = None) -> str:
    """Return the number of `number` without its unit, for a display that prints the unit apart.

    >>> figure(2100.0, "pressure")
    '21.0'
    """
    unit, usual = FORMS[form]
    return f"{units.rounded(float(units.from_si(value, unit)), usual if places is None else places):f}"


def heat(value: float, basis: str, form: str = "heat input") -> str:
    """Return a heat input [W] with its basis, gross or net.

    >>> heat(11_500.0, "gross")
    '11.5 kW gross'
    """
    if basis not in ("gross", "net"):
        raise ValueError(f"basis: read {basis!r}; needed gross or net")
    return f"{number(value, form)} {basis}"


def duration(seconds: float) -> str:
    """Return a time as a person says it.

    >>> duration(150.0), duration(42.0), duration(math.inf)
    ('2 min 30 s', '42 s', 'never')
    """
    if math.isinf(seconds):
        return "never"
    whole = int(units.rounded(seconds, 0))
    if whole < 60:
        return f"{whole} s"
    return f"{whole // 60} min" + (f" {whole % 60} s" if whole % 60 else "")


def index_digits(volume: float, whole: int = 5, decimals: int = 3) -> tuple[str, str]:
    """Return the black and the red digits of a metric index for a volume [m3]; never rounded up.

    >>> index_digits(4812.3679)
    ('04812', '367')
    """
    # Nine figures after the point are dust of the float, not gas.
    counted = math.floor(round(volume * 10**decimals, 6)) % 10 ** (whole + decimals)
    digits = f"{counted:0{whole + decimals}d}"
    return digits[:whole], digits[whole:]


def feet_digits(volume: float) -> tuple[str, float]:
    """Return the six digits of whole cubic feet and the rest [ft3] for a volume [m3].

    >>> feet_digits(28.316846592)
    ('001000', 0.0)
    """
    feet = round(units.from_si(volume, "ft3"), 6)
    whole = math.floor(feet)
    return f"{whole % 1_000_000:06d}", feet - whole


@dataclass(frozen=True)
class Verdict:
    """A finding for the eye and the ear: a mark, a word and the sentence."""

    outcome: str
    mark: str
    sentence: str

    @property
    def text(self) -> str:
        return f"{self.mark} {self.sentence}"


def verdict(finding: Finding) -> Verdict:
    """Return how a finding is shown; its advice stands beside it."""
    return Verdict(finding.outcome, MARKS[finding.outcome], finding.sentence)


def line(what: str, result: str, **given: str) -> str:
    """Return the one plain line in which a worked example ends.

    >>> line("Heat input", "11.5 kW gross", gas_rate="1.06 m³/h", calorific_value="39.0 MJ/m³")
    'Heat input = 11.5 kW gross  (gas rate 1.06 m³/h, calorific value 39.0 MJ/m³)'
    """
    parts = ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in given.items())
    return f"{what} = {result}" + (f"  ({parts})" if parts else "")


def refused(label: str, read: str, need: str) -> str:
    """Return the sentence for an entry that cannot be used: the field, what was read, what is needed.

    >>> refused("Length", "2l", "a number from 1 to 20 m")
    'Length: read “2l”; needed a number from 1 to 20 m. The value was left as it was.'
    """
    seen = read if len(read) <= 40 else read[:37] + "..."
    return f"{label}: read “{seen}”; needed {need}. The value was left as it was."
