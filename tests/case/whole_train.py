"""A case that says everything a whole train can say."""

WHOLE = """title = "Two stages before a membrane unit"
use = "membrane"
today = "either"
[run]
start = 2027-01-04T06:00:00
length = "60 d"
[feed]
temperature = "15 degC"
turbidity = "4 NTU"
solids_per_turbidity = "1.5 mg/L per NTU"
[demand]
hourly = [
  "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h",
  "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h",
  "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h", "3 m3/h",
  "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h", "0 m3/h",
]
weekday = [1, 1, 1, 1, 1, 0.5, 0]
closed = [2027-02-15, 2027-01-06, 2027-02-15]
[downstream]
membrane = "polyamide"
feed_flow = "8 m3/h"
recovery = 0.75
tank = { volume = "10 m3", start_below = 0.4, stop_above = "9 m3", level = "500 L" }
feed_limit = "0.4 NTU"
cartridge = { area = "6 m2", per_area = "150 g/m2", share = 0.9 }
[pump]
flow = ["0 m3/h", "9 m3/h", "14.4 m3/h"]
pressure = ["4 bar", "3.2 bar", "1.5 bar"]
delivery = "2 bar"
other_loss = "20 kPa at 7.2 m3/h"
[washing]
allowed_hours = ["22:00-06:00", "12:30-13:00"]
locked_hours = ["23:00-24:00"]
least_interval = "90 min"
most_a_day = 3
together = "share"
lines = { supply = 2, drain = 2 }
repeat_wash = { clean_within = "2 kPa", most = 2 }
abort = [
  { stage = "sand", at = 2027-02-01T00:00:00, after = "3 min" },
  { stage = "carbon", at = 2027-01-05T06:00:00, after = "90 s" },
]
after_abort = "wash again"
by_hand = [{ stage = "carbon", at = 2027-01-04T07:00:00 }]
[[stage]]
name = "sand"
longest_run = "8 d"
longest_run_at = 04:20:00
vessel = { diameter = "30 in", height = "1.5 m" }
vessels = { count = 2, arrangement = "parallel", inhibit_while_sister_washes = false }
while_washing = "passes raw"
hold_unit = { from = "backwash", until = "backwash", plus = "5 min" }
switch = { sample = "10 s", error = "0.2 kPa", reset_difference = "1 kPa" }
start_spike = { height = "20 kPa", length = "4 s" }
valve_spike = { height = "5 kPa", length = "2 s", a_day = 6 }
[[stage.layer]]
medium = "sand"
depth = "0.7 m"
[[stage.step]]
do = "backwash"
minutes = 10
flow = "17 m3/h"
[[stage.step]]
do = "rinse"
minutes = 6.5
flow = "5 m3/h"
[[stage]]
name = "carbon"
longest_run = "15 d"
vessel = { diameter = "36 in", height = "1.5 m" }
vessels = { count = 2, arrangement = "duty standby" }
wash_path = "through earlier stages"
hold_unit = {}
[[stage.layer]]
medium = "carbon"
depth = "0.7 m"
[[stage.step]]
do = "backwash"
minutes = 8
flow = "17 m3/h"
[policy.either.sand]
any_of = [
  { start_on = "pressure drop", above = "40 kPa", hold = "3 min" },
  { start_on = "calendar", every = "4 d", at = 12:30:00 },
  { start_on = "volume with reserve", volume = "300 m3", reserve = "60 m3", at = 22:00:00 },
]
longest_run = "7 d"
[policy.either.carbon]
start_on = "volume with learned reserve"
volume = "500 m3"
reserve = "80 m3"
quantile = 0.8
days = 56
by = "weekday"
at = 05:00:00
longest_run = "14 d"
[policy.volume]
sand = { start_on = "volume", volume = "250 m3" }
carbon = { start_on = "volume with learned reserve", volume = "500 m3", reserve = "80 m3", at = 05:00:00 }
"""
