"""A question as an assessor would write it, and every way it can be wrong."""

GOOD = '''
family = "own-hob-heat"
version = 1
chapter = "10"
title = "Heat input of a hob"
source = "iso-6976"
stem = "A hob test passes {volume} of gas in {time}. The gross CV is {cv}."

[draw.volume]
unit = "m3"
low = 0.040
high = 0.090
step = 0.001

[draw.time]
unit = "s"
low = 130
high = 290
step = 1

[draw.cv]
unit = "MJ/m3"
low = 38.1
high = 39.9
step = 0.1

[[steps]]
id = "rate"
kind = "set-up"
ask = "What is the gas rate?"
value = "volume * 3600 / time"
unit = "m3/h"
units_offered = ["m3/h", "m3/s"]
figures = 3
plausible = [0.3, 3.0]
cue = "Bring it to one hour."
worked = "{volume} in {time} is {rate}."
[[steps.slips]]
id = "per-minute"
value = "volume * 60 / time"
says = "That is the rate for one minute."
[[steps.slips]]
id = "upside-down"
value = "time / (volume * 3600)"
says = "Volume goes on top, time below."

[[steps]]
id = "heat"
kind = "sum"
ask = "What is the gross heat input?"
value = "rate * cv / 3.6"
unit = "kW"
units_offered = ["kW", "MJ", "kWh"]
places = 1
plausible = [3.0, 40.0]
cue = "One kilowatt hour is 3.6 MJ."
worked = "{rate} times {cv}, divided by 3.6, is {heat}."
[[steps.slips]]
id = "not-divided"
value = "rate * cv"
says = "That is megajoules in an hour, not kilowatts."
[[steps.slips]]
id = "net-for-gross"
value = "rate * cv / 3.6 * 0.8"
says = "That is far below the gross figure."
'''


def changed(old: str, new: str) -> str:
    """Return the good question with one change, which must change something."""
    assert GOOD.count(old) >= 1, old
    return GOOD.replace(old, new, 1)
