"""Hand results issued with the reference case, from a minute-tick model of others run in ticks of 30 s.

By policy: washes, hours over the limit, peak kPa, kg to service, day of the first wash and half of its last printed
digit. Every wash sends 3.7333 m3 to drain.
"""

HAND = {
    "calendar": (14, 193, 15.4, 1.594, 4.125, 5e-4),
    "volume": (24, 0, 10.1, 0.863, 2.5108, 5e-5),
    "volume with reserve": (19, 0, 11.6, 1.069, 3.125, 5e-4),
    "pressure drop": (16, 47, 14.3, 1.329, 3.651, 5e-4),
}
HAND_DRAIN = 3.7333
HAND_TICK = 30.0
