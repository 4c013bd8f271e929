"""The pressure at the meter outlet: the regulator's curve and the meter's own loss."""

from __future__ import annotations

import math
from collections.abc import Callable

from gaslab import tables
from gaslab.refit.parts import Meter


def outlet_pressure(
    share: float, setting: float, droop: float, lock_up: float, meter_loss: float, lock_up_flow: float
) -> float:
    """Return the gauge pressure [Pa] at the meter outlet for a share of the meter's capacity [1].

    setting - droop s + (lock_up - setting) exp(-s/s0) - loss s^2: a straight droop, what is
    left of lock-up near no flow, and the meter's loss. Source: gaslab; the figures are the site's.
    """
    fading = math.exp(-share / lock_up_flow)
    return setting - droop * share + (lock_up - setting) * fading - meter_loss * share**2


def curve(meter: Meter) -> Callable[[float], float]:
    """Return the outlet pressure [Pa] of a sound meter and regulator as a function of flow [m3/s]."""
    capacity, loss = meter.capacity(), tables.si("meters", meter.type, "loss_at_capacity")
    fades = tables.si("bench", "bench", "lock_up_flow")

    def outlet(flow: float) -> float:
        return outlet_pressure(
            flow / capacity, meter.pressure_setting, meter.droop, meter.lock_up, loss, fades
        )

    return outlet
