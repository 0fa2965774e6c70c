"""The tables of the line of water: one structured dtype per kind of row, each field with its meaning beside it.

Units are SI with solids in g; "per area" is per m2 of bed. Names ending in `_total` only grow and make the ledger.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias

import numpy as np

from sim.case.chemistry.records import SOLUTES

SERVICE, RINSE, BACKWASH, SETTLE, STANDBY, REGENERANT = 0, 1, 2, 3, 4, 5  # what a vessel is doing
REACHED, STOPPED, VOLUME_TRIP, PRESSURE_TRIP, STUCK, MONITOR_TRIP = 0, 1, 2, 3, 4, 5  # how an advance ended

SOLUTE_COUNT = len(SOLUTES)
HARDNESS, IRON, MANGANESE, SULPHIDE, AMMONIA, FREE, COMBINED, PERMANGANATE, SALT = range(SOLUTE_COUNT)
NO_DOSE, CHLORINE, PERMANGANATE_DOSE, AIR = 0, 1, 2, 3  # what is dosed ahead of a stage

Rows: TypeAlias = np.recarray[Any, np.dtype[Any]]
KINDS = {"float": "f8", "int": "i8"}


def record(text: str) -> np.dtype[Any]:
    """The dtype of a row from lines of name, kind and meaning; lines of another kind are headings."""
    lines = [line.split(maxsplit=2) for line in text.splitlines()]
    return np.dtype([(line[0], KINDS[line[1]]) for line in lines if line[1:] and line[1] in KINDS], align=True)


FORCING = record("""
A stretch of constant weather and demand.
end          float  until when it lasts [s]
flow         float  demand [m3/s]
solids       float  of the raw water [g/m3]
dosed        float  what coagulant adds to all that goes into the train [g/m3]
viscosity    float  [Pa s]
density      float  [kg/m3]
temperature  float  [degC]
air_rate     float  at which air oxidises iron in it [1/s]
""")
BROUGHT = record("""
What is dissolved in the raw water: for each row of `forcing`, one row a solute.
conc  float  [g/m3]
""")
STAGE = record("""
A stage: one or more equal vessels side by side.
As built
first_vessel     int    its vessels are rows first_vessel to end_vessel - 1
end_vessel       int
sharing          int    vessels meant to be in service
passes_raw       int    1: its water goes round it while no vessel is in service
fine_share       float  of the fine solids that arrive, the part that stays fine [-]
limit            float  on what it sends on [g/m3]; nan: none
The switch as built
sample           float  it reads means over this time [s]; 0: no switch
error            float  standard error of a reading [Pa]
reset            float  difference below the set point at which it switches off [Pa]
first_error      int    row of `noise` with its first error
inhibit          int    1: a pressure drop does not count while fewer than `sharing` are in service
Spikes on the signal
start_height     float  when the unit starts [Pa]
start_length     float  [s]
jolt_height      float  when a valve moves elsewhere [Pa]
jolt_length      float  [s]
spike_until      float  that of a start stands up to then [s]
jolt_until       float  that of a valve stands up to then [s]
spike            float  what stands on the signal in this piece [Pa]
Now
serving          int    vessels in service
past             float  share of its water that goes past its beds while they serve [-]
passing          float  share of what flows into its vessels in service that leaks to drain ahead of the bed [-]
through          float  flow that it sends on in this piece [m3/s]
around           float  of which round its beds [m3/s]
gain             float  by which that grows with the service flow [-]
How its vessels in service share its flow
split_flow       float  for which that was solved [m3/s]
split_viscosity  float  and in what water [Pa s]
split_volume     float  passed since [m3]
split_reach      float  up to which it stands, and beds are not read for it [m3]
Ledger
over_limit_total       float  time over the limit [s]
unavoidable_total  float  of which a clean bed would not have saved [s]
cascades           int    trips of pressure while a sister washed
bypass_total       float  solids that went round it on their way to service [g]
bypass_time        float  [s]
round_volume       float  all water that went round it [m3]
round_solids       float  [g]
formed_total       float  floc formed ahead of its vessels [g]
formed_round       float  and in the water that went round it [g]
Of what is dissolved
product            int    dosed ahead of it: NO_DOSE, CHLORINE, PERMANGANATE_DOSE or AIR
dose               float  [g/m3]
dose_factor        float  on all that is dosed ahead of it now, the coagulant ahead of the first stage too [-]
contact            float  between dose and bed [s]
floc_fine          float  share of the floc that no bed keeps back [-]
to_sulphate        int    1: oxidants turn sulphide to sulphate, 0: to sulphur
blend              float  share of what is dissolved that goes round its vessels in service [-]
""")
VESSEL = record("""
Place
stage        int    row of its stage
first_layer  int    its layers, parts and edges are rows first_* to end_* - 1
end_layer    int
first_part   int
end_part     int
first_edge   int
end_edge     int
The bed as built
whole_area           float  [m2]
vessel_water         float  water in the whole vessel [m3]
bed_water            float  water in the pores and the underdrain [m3]
displaced            float  filtered since a wash after which nothing of the wash is left in it [m3]
tanks                int    in series, as which its water is displaced
rate_exponent        float  of capture on the filtration rate [-]
reference_rate       float  for which the coefficients are given [m/s]
reference_viscosity  float  for which they are given [Pa s]
follows_water        int    1: what some layer captures depends on the viscosity
slough_exponent      float  of capacity on the filtration rate [-]; 0: nothing sloughs
mat_share            float  of the load that stays in the mat [-]
mat_resistance       float  [m/kg]
porosity_floor       float  a cell is blocked there [-]
settle_load          float  pending load past which the cells are brought up to date [g/m2]
valve                float  valve and piping [Pa/(m3/s)2]
seen                 float  1: the gauge sees them
ergun_viscous        float  coefficient of the expanded bed [-]
ergun_inertial       float  [-]
first_uptake         int    what takes up solutes in it: rows first_uptake to end_uptake - 1
end_uptake           int
The bed now
area         float  that carries water [m2]
locked       float  solids in the area that carries none [g]
media_left   float  share of its media that is not lost [-]
In this piece
mode         int    SERVICE, RINSE, BACKWASH, SETTLE or STANDBY
flow         float  through the bed [m3/s]
split        float  as the beds in service last shared it [m3/s]
drawn        float  by a step of its wash [m3/s]
The filter run
treated      float  since the return to service [m3]
filtered     float  since the wash, its rinse included [m3]
load         float  offered since the return [g]
edge         int    row of the next edge
run_over     float  time over the limit in this run [s]
broken       int    1: this run has broken through
dirty        int    1: what it sends on is still dirtier than a rinsed and ripened bed's
last_flow        float  of the last piece with flow [m3/s]
last_row         int    its row of `forcing`
last_filterable  float  its inlet [g/m3]
last_fine        float  [g/m3]
What trips it
volume_set    float  treated volume [m3]; inf: never
pressure_set  float  signal [Pa]; inf: never
hold          float  for which the signal must stand above it [s]
above_since   float  since when it does [s]; nan: it does not
crossed       int    1: the signal itself is above its set point, spikes apart
switched      int    1: the switch is on
summed        float  what the switch has seen since its last reading [Pa s]
monitor_of    int    of what its stage sends on, what is watched: STAGE or SOLUTE + n of `outlet`
monitor_set   float  at or above which that trips it [g/m3]; inf: never
monitor_hold  float  for which it must stand there [s]
over_since    float  since when it does [s]; nan: it does not
early         int    trips before the signal itself was above
missed        int    crossings after which the signal fell again unnoticed
Deposit since the cells were last brought up to date
pending        float  load that entered the bed [g/m2]
passed         float  what of it left again [g/m2]
capture        float  factor on the coefficients under which it entered [-]
ultimate       float  factor on the capacity under which it entered [-]
bed_viscosity  float  of the water whose coefficients its layers have [Pa s]
mat            float  [g/m2]
Resistance: viscous [1/m] and inertial [-] at a load pending [g/m2]; a load of -inf: none known
bound_load      float  the bound, never below the resistance of the bed before that load
bound_viscous   float
bound_inertial  float
bound_blocked   int    1: some cell is at the porosity floor
bound_step      float  how far past a piece the bound looks [g/m2]
close           int    1: its set point or its peak was as near as the bound last time
read_load       float  the last reading, with its mat
read_mat        float
read_viscous    float
read_inertial   float
read_blocked    int
clean_viscous   float  as this run began
clean_inertial  float
new_viscous     float  without any deposit
new_inertial    float
peak_pressure  float  of bed and valve, spikes apart [Pa]
The wash: its step
wash_flow         float  [m3/s]
step_flow         float  that the step asks for [m3/s]
raw_wash          int    1: its water is the raw water
pulls             int    1: its water comes through the stages before
water_solids      float  of its water otherwise [g/m3]
loose_rate        float  at which loose solids leave the grains [1/s]
firm_rate         float  at which firm ones do [1/s]
slow              int    1: the rinse is a displacement
brined            int    1: a regenerant left its water; what is dissolved in that passes no bed on its way out
factor_flow       float  flow for which the cleaning factors of its parts are [m3/s]
factor_viscosity  float  viscosity for which they are [Pa s]
The vessel's water
vessel_solids  float  [g]
remnant        float  what a wash left in it [g/m3]
gone_vessel    float  vessel volumes of the wash's water that have left since [-]
gone_pores     float  pore volumes of it that have left [-]
slough_solids  float  sloughed, on their way out [g]
slough_left    float  volume over which they still leave [m3]
Ledger: solids [g]
in_total         float
wash_in_total    float
out_total        float
drain_total      float
slough_total     float
spilt_total      float  to drain beside any wash: what leaked, what went with lost media
formed_total     float  on its grains
pulled_solids    float
dirty_total      float  sent on above a rinsed and ripened bed
dirty_time_total float  [s]
dirty_peak       float  [g/m3]
Ledger: water [m3]
served_total     float
rinse_total      float
backwash_total   float
pulled_total     float
brine_total      float  of regenerants
leaked_total     float  to drain while in service
slow_total       float  of rinses, what displacements took
""")
LAYER = record("""
A layer, or a sublayer with a coefficient of its own.
coefficient         float  filter coefficient in the water of the bed [1/m]
reference           float  in the reference water [1/m]
viscosity_exponent  float  [-]
ultimate            float  capacity [g/m3]
depth               float  [m]
first_cell          int
end_cell            int
""")
PART = record("""
A part of a medium whose grains are alike, as a wash sees it.
depth          float  [m]
grain_size     float  [m]
sphericity     float  [-]
porosity       float  [-]
grain_density  float  [kg/m3]
firm_share     float  of what it captures [-]
base_total     float  what the last wash left [g/m2]
base_firm      float  of which firm [g/m2]
loose          float  during a wash [g/m2]
firm           float  during a wash [g/m2]
cleaning       float  factor on the cleaning rates [-]
layer          int    row of the layer with all its cells
first_cell     int
end_cell       int
first_mate     int    the parts of its medium are rows first_mate to end_mate - 1
end_mate       int
""")
CELL = record("""
node      float  depth of its lower face below its layer's top [m]
porosity  float  [-]
filling   float  deposit that would fill it [g/m2]
viscous   float  coefficient and depth over grain size [1/m]
inertial  float  the same [-]
gain      float  of linear growth [1/m per g/m2]
deposit   float  above the node [g/m2]
room      float  1 - e^-a of the node: its share of capture that is still to be had [-]
""")
EDGE = record("""
A boundary of pieces after a wash.
filtered  float  since the wash [m3]
ripening  float  mean ripening factor of the piece that ends there [-]
""")
UPTAKE = record("""
What takes up solutes in a layer, the resin before all else first; a layer may have more than one.
vessel          int
layer           int    number of its layer in the vessel, from 0
partner         int    the row that uses the same capacity; itself: none
restorable      int    1: a regeneration gives capacity back
holds           int    1: it holds what it takes up; 0: that is converted
depth           float  [m]
capacity        float  [equivalents per m3 of bed, or g/m3 of what counts as one]
coefficient     float  of a fresh bed at its reference rate [1/m]
reference_rate  float  [m/s]
growth          float  logarithm of the yearly factor on its half-length, per second [1/s]
leakage         float  share of what arrives that passes whatever it holds [-]
fouling         float  share of the metals taken up that no regeneration gives back [-]
State
fading          float  factor on the coefficient by now [-]
used            float  equivalents taken up per area [per m2]
locked          float  and in the area that carries no water
capacity_left   float  share of the capacity that is not lost [-]
fouled          float  of these, never given back
fresh           float  used as this filter run began
gain            float  over the piece at hand, which is kept once all that share a capacity have theirs
restore         float  equivalents that the regeneration under way gives back [per m2 and s]
""")
TAKEN = record("""
One row a solute for each row of `uptake`.
weight  float  equivalents per g that it takes up; below 0: an oxidant that gives as many back
floc    float  solids that a g of it, once used up, leaves in the bed [g]
fouls   int    1: part of it is never given back
first   float  held as the run began [g/m2]
held    float  [g/m2]
lost    float  of this, never given back [g/m2]
locked  float  and in the area that carries no water [g]
elute   float  that the regeneration under way frees [g/m2 and s]
""")
MET = record("""
What becomes of a solute ahead of a stage: one row a solute for each stage.
limit            float  on what the stage sends on [g/m3]; nan: none
fed_total        float  with the raw water, for the first stage [g]
dosed_total      float  [g]
formed_total     float  in the water [g]
converted_total  float  in the water [g]
round_total      float  what goes round the stage, as it arrives behind the dose [g]
over_total       float  time over the limit [s]
peak             float  highest at the end of a piece in service [g/m3]
peak_in          float  and what of it came to the stage then [g/m3]
""")
PORTION = record("""
What a vessel does with a solute: one row a solute for each vessel.
content          float  in its water [g]
remnant          float  what a wash left in it [g/m3]
bring            float  what the regenerant under way leaves in it [g/s]
spend            float  and what of it the bed uses up at once [g/s]
in_total         float  [g]
wash_in_total    float  with washwater and regenerants [g]
pulled_total     float  of which through the stages before [g]
out_total        float  [g]
drain_total      float  [g]
converted_total  float  in its bed [g]
""")
DISSOLVED = record("""
A solute over a piece: rows of the water ahead of each stage and behind the last, then of each vessel.
conc         float  mean of the water [g/m3]
end          float  at the end of the piece, of what the vessel sends on or of the water [g/m3]
dosed        float  ahead of a stage [g/m3]
change       float  by what reacts there: above 0 formed, below converted [g/m3]
load         float  into the vessel [g]
offered      float  to its bed [g]
out          float  of the vessel [g]
remnant_out  float  of which past the bed [g]
""")
LEG = record("""
What a piece brings a vessel and what leaves it; loads [g] over the piece, concentrations [g/m3] at its end.
in_filterable   float
in_fine         float
offered         float  to the bed and its mat
out_filterable  float
out_fine        float
fine_out        float  of the fine solids, what leaves the vessel's water
remnant_out     float
slough_out      float
end_filterable  float
end_fine        float
gone_vessel     float  as in the vessel, at the end
gone_pores      float
formed          float  solids that form on the grains; part of what is offered
formed_end      float  [g/m3]
grown           float  of these, what stays though the bed lets solids of the water past [g]
old             float  water that the wash left, pushed on to the bed [m3]
old_out         float  and out of the pores [m3]
new             float  share of the inlet's water that comes to the bed [-]
kept            float  share of that water in what comes to the bed at the end [-]
left            float  share of the pores' in what leaves them at the end [-]
bed_in          float  since the cells were brought up to date [g/m2]
bed_out         float  [g/m2]
Were the bed rinsed and ripened
ripe_capture    float  factor on the coefficients [-]
base_out        float
base_end        float
A reading of the bed
viscous         float  [1/m]
inertial        float  [-]
blocked         int
Signal
since           float  when it last rose to its set point [s]
first           float  at the beginning of the span of a built switch [Pa]
middle          float  [Pa]
last            float  [Pa]
span            float  [s]
peaks           int    1: it may set a new peak
over_since      float  when what the monitor watches last rose to its mark [s]; nan: it stays below
over_until      float  and when it falls below it [s]; inf: not in this piece
What the train would do
share           float  of its stage's flow [m3/s]
mode            int    what the vessel is doing, kept while a train without washes is tried
""")
WATER = record("""
The water ahead of a stage over a piece; one row more than stages: what leaves the train.
filterable      float  mean [g/m3]
fine            float  mean [g/m3]
filterable_end  float  at the end [g/m3]
fine_end        float  [g/m3]
out_end         float  solids of what the vessels before send on at the end [g/m3]
floc            float  formed ahead of the stage, mean [g/m3]
iron_share      float  iron in these solids at the end [g/g]
manganese_share  float  manganese in them [g/g]
""")
UNIT = record("""
The unit downstream and its tank.
exists         int
feed_flow      float  [m3/s]
recovery       float  [-]
feed_limit     float  on the solids of its feed [g/m3]; nan: none
volume         float  of the tank [m3]
start_below    float  level [m3]
stop_above     float  level [m3]
State
level          float  [m3]
aim            float  where the level is bound for [m3]
due            float  when it comes there [s]
running        int    1: between its levels
held           int    by so many washes
drawing        int    1: it draws water
starved        int    1: it finds none
withheld       float  product that washes have kept from the tank since it was last full [m3]
Ledger
starts         int
starves        int
run_time       float  [s]
held_time      float  [s]
starved_time   float  [s]
over_time      float  feed over its limit [s]
exposure       float  oxidant as chlorine in its feed times time [g s/m3]
oxidant_peak   float  [g/m3]
fed_total      float  [m3]
fed_solids     float  [g]
product_total  float  [m3]
""")
CONTROL = record("""
The whole line.
shared                   int    1: some vessels share a flow
dissolves                int    1: something dissolved is followed
falls                    int    1: what a bed lets through may fall within a piece
share_limit              float  most by which the flow of a vessel may change within a piece [-]
power                    int    1: there is power; 0: nothing is pumped and the unit stands
delivery                 float  of the pump [Pa]
other_loss               float  of the pump [Pa/(m3/s)2]
row                      int    of `forcing` now
jolt                     int    of `jolt` next
asked                    float  service flow asked for [m3/s]
service                  float  and given [m3/s]
Ledger
demand_total             float  [m3]
delivered_total          float  [m3]
unmet_total              float  [m3]
unmet_by_washing_total   float  [m3]
fed_total                float  solids of the raw water that the train drew [g]
dosed_total              float  and those dosed to it [g]
Counts
pieces                   int
most_pieces              int    of which no more are begun
readings                 int
settlings                int
calls                    int
stalled                  int    pieces in a row that took no time
""")
PUMP = record("""
A point of the pump's curve; no points: any flow asked for is reached.
flow      float  [m3/s]
pressure  float  [Pa]
""")
JOLT = record("""
A valve moves elsewhere.
time   float  [s]
stage  int    on whose gauge it shows
""")
NOISE = record("""
error  float  standard normal, taken by the number of a reading and over again at the end [-]
""")


class Tables(NamedTuple):
    """All rows of the line; `leg` and `water` are those of this piece, `probe` and `trial` are scratch, as `tried` is
    of `dissolved`."""

    forcing: Any
    jolt: Any
    noise: Any
    pump: Any
    control: Any
    unit: Any
    stage: Any
    vessel: Any
    layer: Any
    part: Any
    cell: Any
    edge: Any
    leg: Any
    water: Any
    probe: Any
    trial: Any
    brought: Any
    uptake: Any
    taken: Any
    met: Any
    portion: Any
    dissolved: Any
    tried: Any

    def copy(self) -> "Tables":
        """Rows of its own; those that nothing writes to are shared."""
        return self._replace(**{name: copied(getattr(self, name)) for name in CHANGING})


CHANGING = (
    "control", "unit", "stage", "vessel", "layer", "part", "cell", "leg", "water", "probe", "trial",
    "uptake", "taken", "met", "portion", "dissolved", "tried",
)  # fmt: skip
DTYPES = Tables(
    forcing=FORCING,
    jolt=JOLT,
    noise=NOISE,
    pump=PUMP,
    control=CONTROL,
    unit=UNIT,
    stage=STAGE,
    vessel=VESSEL,
    layer=LAYER,
    part=PART,
    cell=CELL,
    edge=EDGE,
    leg=LEG,
    water=WATER,
    probe=LEG,
    trial=WATER,
    brought=BROUGHT,
    uptake=UPTAKE,
    taken=TAKEN,
    met=MET,
    portion=PORTION,
    dissolved=DISSOLVED,
    tried=DISSOLVED,
)


def copied(array: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """A copy byte for byte: numpy itself copies a row field by field, which takes ten times as long."""
    return np.ndarray(array.shape, array.dtype, bytearray(array.tobytes()))


def rows(dtype: np.dtype[Any], values: Sequence[Mapping[str, float]]) -> np.ndarray[Any, np.dtype[Any]]:
    """A structured array of `dtype`, zero except for the named values of each row."""
    array = np.zeros(len(values), dtype=dtype)
    for row, given in zip(array, values, strict=True):
        for name, value in given.items():
            row[name] = value
    return array
