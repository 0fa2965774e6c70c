"""What is dissolved in the water of the line: doses, reactions ahead of a stage, uptake in its beds, regeneration.

A layer takes up solutes by the same exact step as solids: what passes depends on all that it has taken up, not on
where that lies. Solutes that share a capacity are summed as equivalents, and an oxidant that comes with them is set
off against them. `meet` and `offer_solutes` commit nothing; `commit_solutes` does, from what they left in a leg.
Row n of solute s: n SOLUTE_COUNT + s; the vessels' rows of `dissolved` stand behind those of the water.
"""

import math

from hydraulics.capture import deposit_gain, outlet_share
from hydraulics.compiled import law, routine
from hydraulics.reaction import reacted
from hydraulics.stoichiometry import (
    FREE_PER_PERMANGANATE,
    IRON_FLOC,
    MANGANESE_FLOC,
    PERMANGANATE_FLOC,
    SULPHUR_FLOC,
)
from sim.plant.layout import (
    AIR,
    AMMONIA,
    BACKWASH,
    CHLORINE,
    COMBINED,
    FREE,
    IRON,
    MANGANESE,
    PERMANGANATE,
    PERMANGANATE_DOSE,
    SERVICE,
    SOLUTE_COUNT,
    SULPHIDE,
    Rows,
    Tables,
)
from sim.plant.leak import leaking


@law
def vessel_row(i: int, stage: Rows) -> int:
    """The first row of vessel i in `dissolved` and `tried`."""
    row: int = (stage.shape[0] + 1 + i) * SOLUTE_COUNT
    return row


@law
def bring_raw(dissolved: Rows, line: Tables) -> None:
    """The raw water's solutes, ahead of the first stage."""
    first = line.control[0].row * SOLUTE_COUNT
    for n in range(SOLUTE_COUNT):
        dissolved[n].conc = dissolved[n].end = line.brought[first + n].conc


@routine
def meet(k: int, f: Rows, water: Rows, dissolved: Rows, stage: Rows) -> None:
    """Dose the water that comes to stage k and let react what it carries; floc joins its solids."""
    p, w, first = stage[k], water[k], k * SOLUTE_COUNT
    for n in range(SOLUTE_COUNT):
        dissolved[first + n].dosed = 0.0
    if p.product == CHLORINE:
        dissolved[first + FREE].dosed = p.dose * p.dose_factor
    elif p.product == PERMANGANATE_DOSE:
        dissolved[first + PERMANGANATE].dosed = p.dose * p.dose_factor
    for n in range(SOLUTE_COUNT):
        d = dissolved[first + n]
        d.conc += d.dosed
        d.end += d.dosed
        d.change = -d.conc
    air = f.air_rate * p.contact * p.dose_factor if p.product == AIR else 0.0
    iron_before, manganese_before = dissolved[first + IRON].end, dissolved[first + MANGANESE].end
    solids = w.filterable_end + w.fine_end
    w.floc = floc_of(k, True, air, first, dissolved, stage)
    floc_end = floc_of(k, False, air, first, dissolved, stage)
    for n in range(SOLUTE_COUNT):
        dissolved[first + n].change += dissolved[first + n].conc
    if floc_end > 0.0:
        iron = iron_before - dissolved[first + IRON].end
        manganese = manganese_before - dissolved[first + MANGANESE].end
        w.iron_share = (w.iron_share * solids + iron) / (solids + floc_end)
        w.manganese_share = (w.manganese_share * solids + manganese) / (solids + floc_end)
    w.filterable += (1.0 - p.floc_fine) * w.floc
    w.fine += p.floc_fine * w.floc
    w.filterable_end += (1.0 - p.floc_fine) * floc_end
    w.fine_end += p.floc_fine * floc_end


@routine
def floc_of(k: int, of_mean: bool, air: float, first: int, dissolved: Rows, stage: Rows) -> float:
    """Let the mean or the end of the water ahead of stage k react; the floc that forms [g/m3]."""
    p = stage[k]
    sulphide, iron, manganese = dissolved[first + SULPHIDE], dissolved[first + IRON], dissolved[first + MANGANESE]
    ammonia, free = dissolved[first + AMMONIA], dissolved[first + FREE]
    combined, purple = dissolved[first + COMBINED], dissolved[first + PERMANGANATE]
    if of_mean:
        was = sulphide.conc, iron.conc, manganese.conc, purple.conc
        left = reacted(
            p.to_sulphate == 1, air, sulphide.conc, iron.conc, manganese.conc, ammonia.conc, free.conc,
            combined.conc, purple.conc,
        )  # fmt: skip
        sulphide.conc, iron.conc, manganese.conc, ammonia.conc, free.conc, combined.conc, purple.conc = left
    else:
        was = sulphide.end, iron.end, manganese.end, purple.end
        left = reacted(
            p.to_sulphate == 1, air, sulphide.end, iron.end, manganese.end, ammonia.end, free.end,
            combined.end, purple.end,
        )  # fmt: skip
        sulphide.end, iron.end, manganese.end, ammonia.end, free.end, combined.end, purple.end = left
    sulphur = 0.0 if p.to_sulphate == 1 else SULPHUR_FLOC
    floc: float = (
        sulphur * (was[0] - left[0])
        + IRON_FLOC * (was[1] - left[1])
        + MANGANESE_FLOC * (was[2] - left[2])
        + PERMANGANATE_FLOC * (was[3] - left[6])
    )
    return floc


@routine
def offer_solutes(
    i: int, volume: float, leg: Rows, dissolved: Rows, stage: Rows, vessel: Rows, uptake: Rows, taken: Rows,
    portion: Rows,
) -> None:  # fmt: skip
    """What `volume` [m3] of the water ahead of vessel i brings of each solute, and its bed past that (`pass_bed`).

    What a backwash left in the vessel's water is displaced as its solids are; what a regenerant left goes past the
    bed. In service the blend goes round.
    """
    s, g = vessel[i], leg[i]
    first, ahead = vessel_row(i, stage), s.stage * SOLUTE_COUNT
    blend = stage[s.stage].blend if s.mode == SERVICE else 0.0
    past, old, kept, left = g.old_out, max(g.old - g.old_out, 0.0), max(g.kept - g.left, 0.0), g.left
    if s.brined == 1:
        past, old, kept, left = g.old, 0.0, 0.0, g.kept
    for n in range(SOLUTE_COUNT):
        d, w, r = dissolved[first + n], dissolved[ahead + n], portion[i * SOLUTE_COUNT + n].remnant
        d.load = w.conc * volume
        d.remnant_out = r * past
        d.offered = r * old + (1.0 - blend) * g.new * d.load
        d.out = d.offered
        d.end = r * kept + (1.0 - blend) * (1.0 - g.kept) * w.end
    g.formed, g.formed_end = 0.0, 0.0
    if s.flow > 0.0:
        pass_bed(i, first, s.flow, False, g, dissolved, vessel, uptake, taken, portion)
    for n in range(SOLUTE_COUNT):
        d, r = dissolved[first + n], portion[i * SOLUTE_COUNT + n].remnant
        d.out += d.remnant_out + blend * d.load
        d.end += r * left + blend * dissolved[ahead + n].end


@routine
def pass_bed(
    i: int, first: int, flow: float, keep: bool, g: Rows, dissolved: Rows, vessel: Rows, uptake: Rows, taken: Rows,
    portion: Rows,
) -> None:  # fmt: skip
    """Take `out` and `end` of vessel i from row `first` on, as offered to its bed, through all that takes up solutes.

    `keep`: make the uptake true. Solids that form on grains are added to its leg.
    """
    s = vessel[i]
    for u in range(s.first_uptake, s.end_uptake):
        c, base = uptake[u], u * SOLUTE_COUNT
        c.gain = 0.0
        load, oxidant, load_end, oxidant_end = 0.0, 0.0, 0.0, 0.0
        for n in range(SOLUTE_COUNT):
            weight, d = taken[base + n].weight, dissolved[first + n]
            if weight > 0.0:
                load += weight * d.out
                load_end += weight * d.end
            elif weight < 0.0:
                oxidant -= weight * d.out
                oxidant_end -= weight * d.end
        held_back = 1.0 - c.leakage
        load, oxidant = held_back * load / s.area, oxidant / s.area
        load_end *= held_back
        if load <= 0.0 and oxidant <= 0.0 and load_end <= 0.0 and oxidant_end <= 0.0:
            continue
        coefficient = c.coefficient * c.fading * c.reference_rate * s.area / flow
        used = c.used if c.partner == u else c.used + uptake[c.partner].used
        free = max(c.depth - used / c.capacity, 0.0)
        gain, share, share_end, oxidant_share, oxidant_share_end = uptake_shares(
            free, coefficient, c.capacity, c.used, load, oxidant, load_end, oxidant_end
        )
        fouled = 0.0
        for n in range(SOLUTE_COUNT):
            t, d = taken[base + n], dissolved[first + n]
            if t.weight > 0.0:
                amount, end = held_back * (1.0 - share) * d.out, held_back * (1.0 - share_end) * d.end
                d.out -= amount
                d.end -= end
                g.formed += t.floc * amount
                g.formed_end += t.floc * end
                if keep:
                    if c.holds == 1:
                        t.held += amount / s.area
                    else:
                        portion[i * SOLUTE_COUNT + n].converted_total += amount
                    if t.fouls == 1:
                        t.lost += c.fouling * amount / s.area
                        fouled += c.fouling * t.weight * amount / s.area
            elif t.weight < 0.0:
                amount, end = (1.0 - oxidant_share) * d.out, (1.0 - oxidant_share_end) * d.end
                g.formed += t.floc * amount
                g.formed_end += t.floc * end
                d.out -= amount
                d.end -= end
                if keep:
                    portion[i * SOLUTE_COUNT + n].converted_total += amount
        c.gain = gain
        if keep:
            c.fouled += fouled
    for u in range(s.first_uptake, s.end_uptake if keep else s.first_uptake):
        c = uptake[u]
        c.used = min(max(c.used + c.gain, 0.0), c.capacity * c.depth)
        c.fouled = min(c.fouled, c.used)


@law
def uptake_shares(
    free: float, coefficient: float, capacity: float, used: float, load: float, oxidant: float, load_end: float,
    oxidant_end: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Equivalents gained per area, and what passes: shares of load and of oxidant, in the mean and at the end.

    load, oxidant: equivalents per area over the piece; `_end`: per m3 at its end. Where there is more to take up than
    oxidant, both pass as the difference would. Where there is more oxidant, the bed takes up as it is, and what is
    left of the oxidant gives back what is used of the capacity before any of it passes.
    """
    surplus = load - oxidant < 0.0 if load + oxidant > 0.0 else load_end - oxidant_end < 0.0
    if not surplus:
        net = load - oxidant
        gain = deposit_gain(free, coefficient, capacity, load=net)
        share = max(1.0 - gain / net, 0.0) if net > 0.0 else math.exp(-coefficient * free)
        share_end = outlet_share(coefficient * free, coefficient * net / capacity)
        return gain, share, share_end, share, share_end
    share = math.exp(-coefficient * free)
    left = max(oxidant - (1.0 - share) * load, 0.0)
    back = min(used, left)
    passes = (left - back) / oxidant if oxidant > 0.0 else 0.0
    passes_end = 0.0
    if back >= used and oxidant_end > 0.0:
        passes_end = max(oxidant_end - (1.0 - share) * load_end, 0.0) / oxidant_end
    return -back, share, share, passes, passes_end


@routine
def send_on(k: int, tau: float, dissolved: Rows, stage: Rows, vessel: Rows) -> None:
    """Mix what stage k sends on over `tau` seconds, by its vessels in service and past them."""
    p, first, next_one = stage[k], k * SOLUTE_COUNT, (k + 1) * SOLUTE_COUNT
    flow = 0.0
    for n in range(SOLUTE_COUNT):
        dissolved[next_one + n].conc = dissolved[next_one + n].end = 0.0
    for i in range(p.first_vessel, p.end_vessel):
        s, row = vessel[i], vessel_row(i, stage)
        if s.flow > 0.0 and s.mode == SERVICE:
            flow += s.flow
            for n in range(SOLUTE_COUNT):
                dissolved[next_one + n].conc += dissolved[row + n].out
                dissolved[next_one + n].end += s.flow * dissolved[row + n].end
    if flow > 0.0 and p.around > 0.0:
        flow += p.around
        for n in range(SOLUTE_COUNT):
            dissolved[next_one + n].conc += p.around * tau * dissolved[first + n].conc
            dissolved[next_one + n].end += p.around * dissolved[first + n].end
    for n in range(SOLUTE_COUNT):
        d = dissolved[next_one + n]
        if flow > 0.0:
            d.end /= flow
            d.conc = d.conc / (flow * tau) if tau > 0.0 else d.end
        else:
            d.conc, d.end = dissolved[first + n].conc, dissolved[first + n].end


@routine
def commit_solutes(
    i: int, g: Rows, stage: Rows, vessel: Rows, uptake: Rows, taken: Rows, portion: Rows, dissolved: Rows, probe: Rows
) -> None:  # fmt: skip
    """Make the piece true for the solutes of vessel i, before its volumes are counted: bed, water, ledger."""
    s, first = vessel[i], vessel_row(i, stage)
    blend = stage[s.stage].blend if s.mode == SERVICE else 0.0
    for n in range(SOLUTE_COUNT):
        d, q = dissolved[first + n], portion[i * SOLUTE_COUNT + n]
        q.in_total += d.load
        if s.filtered < s.displaced:
            q.content += d.load - blend * d.load - d.offered - d.remnant_out
        if s.mode == SERVICE:
            q.out_total += d.out
        else:
            q.drain_total += d.out
        d.out = d.offered
    s.formed_total += g.formed
    # The leg itself has what forms already.
    pass_bed(i, first, s.flow, True, probe[i], dissolved, vessel, uptake, taken, portion)
    for n in range(SOLUTE_COUNT):
        d = dissolved[first + n]
        d.out += d.remnant_out + blend * d.load


@routine
def commit_meetings(dt: float, line: Tables) -> None:
    """Count what dt seconds brought, what was dosed and reacted ahead of every stage, and what reached the unit."""
    for k in range(line.stage.shape[0]):
        p, flow = line.stage[k], 0.0
        for i in range(p.first_vessel, p.end_vessel):
            s = line.vessel[i]
            flow += s.drawn if s.mode == BACKWASH and s.pulls == 1 else s.flow
            flow += leaking(i, line)
        commit_meeting(k, flow * dt, p.around * dt, line)
    if line.control[0].service > 0.0:
        last = line.stage.shape[0]
        mean = oxidant_of(last, False, line.dissolved)
        line.unit[0].exposure += mean * dt
        line.unit[0].oxidant_peak = max(line.unit[0].oxidant_peak, mean, oxidant_of(last, True, line.dissolved))


@law
def commit_meeting(k: int, volume: float, round_volume: float, line: Tables) -> None:
    """Count what was dosed and what reacted ahead of stage k, in the water for its vessels and round it [m3]."""
    p, first = line.stage[k], k * SOLUTE_COUNT
    p.formed_total += line.water[k].floc * volume
    p.formed_round += line.water[k].floc * round_volume
    whole = volume + round_volume
    for n in range(SOLUTE_COUNT):
        d, m = line.dissolved[first + n], line.met[first + n]
        if k == 0:
            m.fed_total += line.brought[line.control[0].row * SOLUTE_COUNT + n].conc * whole
        m.dosed_total += d.dosed * whole
        m.formed_total += max(d.change, 0.0) * whole
        m.converted_total += max(-d.change, 0.0) * whole
        m.round_total += d.conc * round_volume


@routine
def wash_solutes(
    i: int, dt: float, raw: int, stage: Rows, vessel: Rows, uptake: Rows, taken: Rows, portion: Rows, dissolved: Rows,
    brought: Rows, probe: Rows,
) -> None:  # fmt: skip
    """A backwash or a regenerant of vessel i for dt seconds: what its water brings passes the bed into the vessel's.

    The vessel's water mixes. `raw`: row of forcing of the raw water. Wash water other than raw brings nothing
    dissolved; a regenerant brings what `regenerate` has set, and frees what the bed gives up, as far as it flows.
    """
    s, first = vessel[i], vessel_row(i, stage)
    volume = s.drawn * dt
    done = dt if s.drawn == s.step_flow else dt * (s.drawn / s.step_flow)
    gone = -math.expm1(-volume / s.vessel_water)
    if s.mode == BACKWASH and volume > 0.0:
        for n in range(SOLUTE_COUNT):
            d, conc = dissolved[first + n], 0.0
            if s.pulls == 1:
                conc = dissolved[s.stage * SOLUTE_COUNT + n].conc
            elif s.raw_wash == 1:
                conc = brought[raw * SOLUTE_COUNT + n].conc
            d.load = d.out = conc * volume
            d.end = conc
        g = probe[i]
        g.formed = 0.0
        pass_bed(i, first, s.drawn, True, g, dissolved, vessel, uptake, taken, portion)
        s.formed_total += g.formed
        s.vessel_solids += g.formed
    else:
        for n in range(SOLUTE_COUNT):
            q = portion[i * SOLUTE_COUNT + n]
            dissolved[first + n].out = q.bring * done
            dissolved[first + n].load = (q.bring + q.spend) * done
            q.converted_total += q.spend * done
        for u in range(s.first_uptake, s.end_uptake):
            c = uptake[u]
            c.used = max(c.used - c.restore * done, c.fouled)
            for n in range(SOLUTE_COUNT):
                t = taken[u * SOLUTE_COUNT + n]
                freed = min(t.elute * done, max(t.held - t.lost, 0.0))
                t.held -= freed
                dissolved[first + n].out += freed * s.area
    for n in range(SOLUTE_COUNT):
        d, q = dissolved[first + n], portion[i * SOLUTE_COUNT + n]
        before = q.content + d.out
        mixed = d.out * s.vessel_water / volume if volume > 0.0 else 0.0
        q.content = q.content * (1.0 - gone) + mixed * gone if volume > 0.0 else before
        q.drain_total += before - q.content
        q.wash_in_total += d.load
        if s.mode == BACKWASH and s.pulls == 1:
            q.pulled_total += d.load


@law
def leave_remnants(i: int, line: Tables) -> None:
    """What a backwash or a regenerant left dissolved in vessel i's water is what is displaced next."""
    s = line.vessel[i]
    for n in range(SOLUTE_COUNT):
        q = line.portion[i * SOLUTE_COUNT + n]
        q.remnant = q.content / s.vessel_water
        q.bring, q.spend = 0.0, 0.0
    for u in range(s.first_uptake, s.end_uptake):
        line.uptake[u].restore = 0.0
        for n in range(SOLUTE_COUNT):
            line.taken[u * SOLUTE_COUNT + n].elute = 0.0


@law
def begin_fresh(i: int, line: Tables) -> None:
    """A filter run of vessel i begins with what its beds have taken up by now."""
    for u in range(line.vessel[i].first_uptake, line.vessel[i].end_uptake):
        line.uptake[u].fresh = line.uptake[u].used


@law
def fade(t: float, line: Tables) -> None:
    """The beds whose half-length grows with time, as they are at t [s]."""
    for u in range(line.uptake.shape[0]):
        if line.uptake[u].growth > 0.0:
            line.uptake[u].fading = math.exp(-line.uptake[u].growth * t)


@law
def oxidant_of(k: int, at_end: bool, dissolved: Rows) -> float:
    """Free and combined chlorine ahead of stage k, permanganate as chlorine [g/m3]; the mean, or at the end."""
    first = k * SOLUTE_COUNT
    if at_end:
        purple = FREE_PER_PERMANGANATE * dissolved[first + PERMANGANATE].end
        last: float = dissolved[first + FREE].end + dissolved[first + COMBINED].end + purple
        return last
    purple = FREE_PER_PERMANGANATE * dissolved[first + PERMANGANATE].conc
    mean: float = dissolved[first + FREE].conc + dissolved[first + COMBINED].conc + purple
    return mean


@law
def sent_on(k: int, n: int, water: Rows, dissolved: Rows) -> float:
    """What stage k sends on of solute n at the end of a piece, as its limit counts it [g/m3].

    Iron and manganese with what of them is in the passing solids; all oxidants for free chlorine.
    """
    w = water[k + 1]
    if n == FREE:
        return oxidant_of(k + 1, True, dissolved)
    conc: float = dissolved[(k + 1) * SOLUTE_COUNT + n].end
    if n == IRON:
        conc += w.iron_share * w.out_end
    elif n == MANGANESE:
        conc += w.manganese_share * w.out_end
    return conc
