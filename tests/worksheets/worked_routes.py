# SPDX-License-Identifier: GPL-3.0-or-later
"""Other roads to what worksheets say, for worked.py: integrals, differential equations, roots and rays done numerically, so
that a formula typed wrongly in C is not typed wrongly here too. Arguments are the inputs of the same name, SI; what comes
back are outputs by key, SI."""
import itertools

import numpy as np
from scipy.integrate import quad, solve_bvp, solve_ivp
from scipy.optimize import brentq
from scipy.sparse import diags, identity, kron
from scipy.sparse.linalg import spsolve

trapezoid = np.trapz


def table(text):
    """Rows as typed on the command line, "1,2;3,4"; an empty cell is left out."""
    return [[float(cell) for cell in row.split(",") if cell] for row in text.split(";")]


def prandtl(b, t, steps=96):
    """Torsion constant of a rectangle and its largest stress for a torque of 1: the membrane of Prandtl on a grid, two grids
    carried to the limit."""
    def once(n):
        dx, dy = b / n, t / n
        second = lambda h: diags([1, -2, 1], [-1, 0, 1], shape=(n - 1, n - 1)) / h**2
        phi = np.zeros((n + 1, n + 1))
        phi[1:-1, 1:-1] = spsolve((kron(second(dx), identity(n - 1)) + kron(identity(n - 1), second(dy))).tocsc(),
                                  np.full((n - 1)**2, -2.0)).reshape(n - 1, n - 1)
        slope = lambda edge, h: (4 * edge[1] - edge[2]) / (2 * h)  # phi is 0 on the edge
        return 2 * phi.sum() * dx * dy, max(slope(phi[n // 2, :3], dy), slope(phi[:3, n // 2], dx))
    (coarse_j, coarse_s), (fine_j, fine_s) = once(steps // 2), once(steps)
    constant = fine_j + (fine_j - coarse_j) / 3
    return constant, (fine_s + (fine_s - coarse_s) / 3) / constant


def shear_modulus(modulus, poisson):
    return modulus / (2 * (1 + poisson))


# ---- tools ----

def membrane(width, thickness):
    constant, stress = prandtl(width, thickness)
    b, t = max(width, thickness), min(width, thickness)
    return {"alpha": 1 / (stress * b * t**2), "beta": constant / (b * t**3), "constant": constant * 1e12}


def round_bar(width, length, shear_modulus):
    polar = quad(lambda r: 2 * np.pi * r**3, 0, width / 2)[0]
    return {"constant": polar * 1e12, "wind-up": length / (shear_modulus * polar)}


def flat_wrench(span, tip, tip_width, tip_length, slot_depth, reach, plate, body, length, own_modulus, own_poisson):
    """Wind-up as twice the elastic energy at a torque of 1, summed along blades, bridge and arms."""
    G, at = shear_modulus(own_modulus, own_poisson), slot_depth / 2
    z = np.linspace(at, reach, 20001)  # up a blade from where the slot pushes
    thick = np.where(z < tip_length, tip, plate)
    force = 1 / span
    blade = trapezoid((force * (z - at))**2 / (own_modulus * tip_width * thick**3 / 12), z)
    blade += trapezoid(1.2 * force**2 / (G * tip_width * thick), z)
    x = np.linspace(0, length / 2, 20001)
    hand = 1 / length
    moment = np.where(x > span / 2, hand * (length / 2 - x), hand * (length / 2 - span / 2) * x / (span / 2))
    bent = 2 * trapezoid(moment**2, x) / (own_modulus * body * plate**3 / 12)
    twist = (force * (reach + body / 2 - at))**2 * span / (G * prandtl(body, plate)[0])
    return {"wind-up": 2 * blade + bent + twist}


def wrench_root(span, tip_width, slot_depth, reach, plate, own_yield):
    """Torque at which the blade's root yields: the greatest of the stresses of Mises over the section, bending at its edge
    and shear, which is greatest in the middle, taken together as the sheet does, on the safe side."""
    arm = reach - slot_depth / 2
    y = np.linspace(-plate / 2, plate / 2, 4001)
    bending = arm * (plate / 2) / trapezoid(tip_width * y**2, y)
    q = np.array([trapezoid(tip_width * y[k:], y[k:]) for k in range(0, 4001, 100)])  # first moment above each layer
    shear = (q / (trapezoid(tip_width * y**2, y) * tip_width)).max()
    return {"torque-most": own_yield * span / np.hypot(bending, np.sqrt(3) * shear)}


def pin_driver(span, hole_depth, pin, pin_length, shank, shank_length, blade, blade_width, blade_length, own_modulus, own_poisson):
    """Each pin as a cantilever by its differential equation; shear, the flat blade by the membrane and the shank beside it."""
    G = shear_modulus(own_modulus, own_poisson)
    y = np.linspace(-pin / 2, pin / 2, 20001)
    chord = 2 * np.sqrt(np.maximum(0, (pin / 2)**2 - y**2))
    second, area = trapezoid(chord * y**2, y), trapezoid(chord, y)
    arm = pin_length - min(hole_depth, pin_length) / 2
    bent = solve_ivp(lambda x, s: [s[1], (arm - x) / (own_modulus * second)], (0, arm), [0, 0], rtol=1e-10, atol=1e-18).y[0, -1]
    sheared = 10 / 9 * arm / (G * area)
    polar = quad(lambda r: 2 * np.pi * r**3, 0, shank / 2)[0]
    flat = blade_length / (G * prandtl(blade_width, blade)[0])
    return {"wind-up": 2 * (bent + sheared) / span**2 + shank_length / (G * polar) + flat}


def split_collar(cap, edge, collar, play, closing, friction, own_modulus):
    """A cut ring opened by two forces at the cut: M = P R (1 - cos a) along it; and a band that presses evenly."""
    r, R = cap / 2, cap / 2 + collar / 2
    opens = quad(lambda a: (R * (1 - np.cos(a)))**2 * R, 0, 2 * np.pi)[0] / (own_modulus * edge * collar**3 / 12)
    lost = np.pi * play / opens
    pressure = (closing - lost) / quad(lambda a: edge * r * np.sin(a) / 2, 0, np.pi)[0]  # half the band across its two ends
    return {"bend": lost, "torque-most": quad(lambda a: friction * pressure * edge * r**2, 0, 2 * np.pi)[0]}


def friction_ring(outer, inner, rubber, squash, push, friction, rubber_modulus):
    area = quad(lambda r: 2 * np.pi * r, inner / 2, outer / 2)[0]
    polar = quad(lambda r: 2 * np.pi * r**3, inner / 2, outer / 2)[0]
    return {"pressure": push / area,
            "torque-most": quad(lambda r: friction * push / area * 2 * np.pi * r**2, inner / 2, outer / 2)[0],
            "wind-up": rubber * (1 - squash) / (rubber_modulus * polar)}


def clamp_block(held, lining, board, kerf, screw_force, friction):
    """Even pressure over both halves less the saw cut, balanced against the two screws."""
    bore, r = held / 2 + lining, held / 2
    cut = np.arcsin(kerf / 2 / bore)
    pressure = 2 * screw_force / quad(lambda a: board * r * np.sin(a), cut, np.pi - cut)[0]
    return {"contact": 2 * (np.pi - 2 * cut), "pressure": pressure, "bore": 2 * bore,
            "torque-most": 2 * quad(lambda a: friction * pressure * board * r**2, cut, np.pi - cut)[0]}


def same_as_flat_wrench(span, slot_width, slot_depth, reach):
    """What compare-wrenches computes is a flat wrench: the same wrench asked for by that sheet's own command."""
    import worked  # the program is known there
    mm = lambda value: f"{value * 1e3:.6g} mm"
    one = worked.run("flat-wrench", {"span": mm(span), "slot-width": mm(slot_width), "slot-depth": mm(slot_depth),
                                     "reach": mm(reach), "plate": "2 mm", "tip-width": "2 mm", "body": "15 mm", "length": "80 mm"})
    return {"compared.0.torque": worked.number(one, "torque-most"), "compared.0.wind-up": worked.number(one, "wind-up")}


def driver_tip(slot, depth, tip, tip_width, own_yield):
    """Pressure in the slot growing from the middle; the tip by the membrane; the taper that just fills the slot's mouth."""
    half = tip_width / 2
    return {"slot-torque": 2 * quad(lambda x: own_yield * x / half * depth * x, 0, half)[0],
            "tip-torque": own_yield / np.sqrt(3) / prandtl(tip_width, tip)[1],
            "taper-most": brentq(lambda a: tip + 2 * depth * np.tan(a / 2) - slot, 0, 1)}


def seized_thread(diameter, pitch, engaged, seat, tightened, friction_then, friction_most, flank):
    """Forces on the thread's own slanting face, solved for; the bond by its surface (lacquer: 3 MPa at the most)."""
    d = diameter - 0.65 * pitch
    lead = np.arctan(pitch / (np.pi * d))
    slant = np.cos(np.arctan(np.tan(flank / 2) * np.cos(lead)))  # of the face, square to the thread

    def forces(mu, way, axial):
        normal = axial / (slant * np.cos(lead) - way * mu * np.sin(lead))
        return normal * (way * slant * np.sin(lead) + mu * np.cos(lead)) * d / 2 + mu * axial * seat / 2
    axial = brentq(lambda w: forces(friction_then, 1, w) - tightened, 0, 1e6)
    bond = quad(lambda z: 3e6 * np.pi * d * d / 2, 0, engaged)[0]
    friction = forces(friction_most, -1, axial)
    return {"axial": axial, "friction-part": friction, "bond-part": bond, "most": friction + bond}


# ---- parts ----

def lame(hole, given_interference, hub, hub_modulus, hub_poisson, pin_modulus, pin_poisson):
    """Displacements of hub and pin under a pressure of 1 from u'' + u'/r - u/r^2 = 0, as a boundary-value problem."""
    def solve(a, b, E, nu, pressed_inside):
        stress = lambda u, du, r: E / (1 - nu**2) * (du + nu * u / r)
        edges = lambda y0, y1: np.array([stress(y0[0], y0[1], a) + (1 if pressed_inside else 0),
                                         stress(y1[0], y1[1], b) + (0 if pressed_inside else 1)])
        centre = lambda y0, y1: np.array([y0[0] - a * y0[1], stress(y1[0], y1[1], b) + 1])  # solid: u grows with r
        r = np.linspace(a, b, 400)
        found = solve_bvp(lambda r, y: np.vstack([y[1], y[0] / r**2 - y[1] / r]), edges if pressed_inside else centre, r,
                          np.vstack([r / E, np.full_like(r, 1 / E)]), tol=1e-9, max_nodes=20000)
        hoop = lambda at: E / (1 - nu**2) * (found.sol(at)[0] / at + nu * found.sol(at)[1])
        return found.sol(a if pressed_inside else b)[0], hoop
    grows, hoop = solve(hole / 2, hub / 2, hub_modulus, hub_poisson, True)
    shrinks, _ = solve(hole / 2000, hole / 2, pin_modulus, pin_poisson, False)
    pressure = given_interference / 2 / (grows - shrinks)
    return {"pressure": pressure, "hoop": pressure * hoop(hole / 2), "hub-outer-hoop": pressure * hoop(hub / 2)}


def cross_pin(pin, shaft, wall, on_axis):
    """Torque of a pressure that grows from the shaft's axis, and of an even one in the hub's wall; two sections that shear."""
    in_shaft = on_axis / (2 * quad(lambda x: pin * x / (shaft / 2) * x, 0, shaft / 2)[0])
    in_hub = on_axis / (2 * quad(lambda x: pin * x, shaft / 2, shaft / 2 + wall)[0])
    area = quad(lambda r: 2 * np.pi * r, 0, pin / 2)[0]
    return {"bearing": max(in_shaft, in_hub), "shear": on_axis / (2 * (shaft / 2) * area)}


def stud(pin, radius, plate, overhang, on_axis):
    """A load beside the plate held by a pressure that runs straight from face to face: force and moment balanced."""
    force = on_axis / radius
    z = lambda power: quad(lambda s: pin * s**power, -plate / 2, plate / 2)[0]
    even, tilt = np.linalg.solve([[z(0), z(1)], [z(1), z(2)]], [force, force * (overhang + plate / 2)])
    y = np.linspace(-pin / 2, pin / 2, 40001)
    second = trapezoid(2 * np.sqrt(np.maximum(0, (pin / 2)**2 - y**2)) * y**2, y)
    return {"bearing": even + tilt * plate / 2, "bending": force * overhang * (pin / 2) / second}


def stake(neck, rim, stays, friction, own_yield):
    a, b = neck / 2, neck / 2 + rim
    return {"holding": quad(lambda r: friction * stays * own_yield * 2 * np.pi * r**2, a, b)[0],
            "staking": quad(lambda r: own_yield * 2 * np.pi * r, 0, b)[0]}


def involute_pair(teeth1, teeth2, module, angle, shift1, shift2):
    """Centres at which the teeth fill each other's gaps, by the thickness of involute teeth; the path of contact as far as
    the tip circles reach along the line that touches both base circles."""
    inv = lambda a: np.tan(a) - a
    z, x = np.array([teeth1, teeth2]), np.array([shift1, shift2])
    radius, base = module * z / 2, module * z / 2 * np.cos(angle)
    thick = module * (np.pi / 2 + 2 * x * np.tan(angle))  # on the pitch circle

    def gap(centre):
        working = centre * z / z.sum()
        on_working = working * (thick / radius + 2 * inv(angle) - 2 * inv(np.arccos(base / working)))
        return 2 * np.pi * working[0] / teeth1 - on_working.sum()
    nominal = radius.sum()
    centre = brentq(gap, base.sum() * (1 + 1e-9), nominal + 3 * module)
    angle_w = np.arccos(base.sum() / centre)
    tips = np.array([centre - (radius[1] - module * (1.25 - x[1])) - 0.25 * module,  # each clears the other's root by 0.25 m
                     centre - (radius[0] - module * (1.25 - x[0])) - 0.25 * module])
    ends = [brentq(lambda s, r=tip, b=b: np.hypot(b, s) - r, 0, 10 * centre) for tip, b in zip(tips, base)]
    ratio = (sum(ends) - centre * np.sin(angle_w)) / (2 * np.pi * base[0] / teeth1)
    return {"free-centre": centre, "working-angle": angle_w, "contact-ratio": ratio, "tip1": 2 * tips[0]}


def tooth_outline(teeth, angle):
    """Lewis' factor of a tooth cut by a rack, whose sharp outline is rolled past the blank in small steps: of all that the
    cutter reaches, the tooth is what is left; then the parabola from where the tip's force crosses the tooth's middle that
    touches it. Cutter 1.25 deep with corners rounded by 0.3, module 1."""
    r, addendum, deep, round_ = teeth / 2, 1.0, 1.25, 0.3
    corner_x = np.pi / 4 - (deep - round_) * np.tan(angle) - round_ / np.cos(angle)
    arc = np.linspace(-np.pi / 2, -angle, 300)  # from straight down to square to the flank
    flank = np.linspace(-(deep - round_) - round_ * np.sin(angle), addendum, 900)
    edge_x = np.concatenate([corner_x + round_ * np.cos(arc), np.pi / 4 + flank * np.tan(angle)])
    edge_y = np.concatenate([-(deep - round_) + round_ * np.sin(arc), flank])
    bins = np.linspace(r - deep, r + addendum, 3000)
    widest = np.zeros(len(bins))
    for roll in np.linspace(-1.2, 1.2, 3001):
        x, y = edge_x - roll * r, edge_y + r
        gx, gy = x * np.cos(roll) + y * np.sin(roll), -x * np.sin(roll) + y * np.cos(roll)
        at = np.searchsorted(bins, np.hypot(gx, gy))
        inside = at < len(bins)
        np.maximum.at(widest, at[inside], np.arctan2(gx, gy)[inside])
    half_angle = np.pi / teeth - widest  # of what is left of the tooth
    half, height = bins * np.sin(half_angle), bins * np.cos(half_angle)
    base, tip = r * np.cos(angle), r + addendum
    half_tip = half_angle[-2]
    load = base / np.cos(np.arccos(base / tip) - half_tip)
    sound = (widest > 0) & (height < load) & (half > 0) & (bins > r - deep + 0.01)
    return {"factor-outline": (4 * half[sound]**2 / (6 * (load - height[sound]))).min()}


def helical_rate(wire, mean, active, shear_modulus):
    """Castigliano: the wire twisted by F D/2 all along the helix."""
    polar = quad(lambda r: 2 * np.pi * r**3, 0, wire / 2)[0]
    return {"rate": 1 / quad(lambda a: (mean / 2)**2 / (shear_modulus * polar) * mean / 2, 0, 2 * np.pi * active)[0]}


def torsion_spring(wire, mean, turns, leg1, leg2, modulus):
    """The body bent all along its wire, the legs as cantilevers, by the differential equation of bending."""
    y = np.linspace(-wire / 2, wire / 2, 40001)
    second = trapezoid(2 * np.sqrt(np.maximum(0, (wire / 2)**2 - y**2)) * y**2, y)
    body = quad(lambda a: mean / 2 / (modulus * second), 0, 2 * np.pi * turns)[0]
    legs = sum(solve_ivp(lambda x, s, leg=leg: [s[1], (1 - x / leg) / (modulus * second)], (0, leg), [0, 0], rtol=1e-10,
                         atol=1e-15).y[0, -1] / leg for leg in (leg1, leg2))
    return {"rate": 1 / (body + legs)}


def coils_of_a_choice(rate, hole):
    """Working coils of music wire of 0.35 mm (G 82.7 GPa) wound to 97 % of the hole, by Castigliano for one coil."""
    wire = 0.35e-3
    return {"choices.0.coils": helical_rate(wire, 0.97 * hole - wire, 1, 12.0e6 * 6894.757293168361)["rate"] / rate}


# ---- sheet goods and bench ----

def stadium(straight, end_radius, thickness):
    """Half the way round a body with round ends, along the covering's middle layer, as a polygon of many sides."""
    a = np.linspace(-np.pi / 2, np.pi / 2, 20001)
    r = end_radius + thickness / 2
    return {"length": straight + np.hypot(np.diff(r * np.cos(a)), np.diff(r * np.sin(a))).sum()}


def layers(frame_width, overlap, drum, stays, cloth):
    """The cloth wound turn by turn, each turn a cloth's thickness further out: turns till its length is used up."""
    def turns(length):
        whole = 0
        while length > (around := np.pi * (drum + cloth * (2 * whole + 1))):
            length -= around
            whole += 1
        return whole + length / around
    stay = brentq(lambda length: turns(length) - stays, 0, 1)
    return {"free": frame_width + 2 * overlap + stay, "turns": turns(stay + frame_width) - stays,
            "build": drum + 2 * cloth * turns(stay + frame_width + 2 * overlap)}


def shims(wanted, kinds):
    """Every pile there is."""
    piles = [sum(pile) for pile in itertools.product(*([k * t * 1e-3 for k in range(int(n) + 1)] for t, n in table(kinds)))]
    return {"stacks.0.total": min(piles, key=lambda total: abs(total - wanted))}


# ---- light ----

def line(levels):
    """Readings by numpy's least squares: error = reference - shown, against the reference."""
    reference, shown = np.array(table(levels)).T
    slope, level = np.polyfit(reference - reference.mean(), reference - shown, 1)
    return {"offset": level, "slope": 1 - slope}


def lamp(flux, distance, reflectance, incident_constant, reflected_constant):
    """A lamp's light caught by the whole of a sphere, and a matt card's sent into the half space: L cos over the hemisphere."""
    lux = flux / quad(lambda a: 2 * np.pi * distance**2 * np.sin(a), 0, np.pi)[0]
    hemisphere = quad(lambda a: 2 * np.pi * np.sin(a) * np.cos(a), 0, np.pi / 2)[0]
    luminance = lux * reflectance / hemisphere
    ev = lambda light, constant: brentq(lambda e: 2.0**e * constant / 100 - light, -20, 30)
    return {"illuminance": lux, "luminance": luminance, "incident": ev(lux, incident_constant),
            "reflected": ev(luminance, reflected_constant)}


def series_meter(cell_voltage, gamma, fixed):
    """A meter marked with 1.35 V, read with another voltage: which light its needle's mark was made for."""
    current = cell_voltage / 1.0
    shown = brentq(lambda ev: 1.35 / ((1 - fixed) * 2.0**(-gamma * ev) + fixed) - current, -8, 8)
    return {"error": -shown}


def bleed(capacitance, voltage, resistor, safe):
    empty = lambda t, v: v[0] - safe
    empty.terminal = True
    run = solve_ivp(lambda t, v: [-v[0] / (resistor * capacitance), v[0]**2 / resistor], (0, 100), [voltage, 0], events=empty,
                    rtol=1e-10, atol=1e-9)
    return {"time": run.t_events[0][0], "energy": run.y[1, -1] + capacitance * safe**2 / 2}


def comparator(full, load, hysteresis, source):
    """The node at the + input by Kirchhoff's law, with the output at 0 and at 5 V; REF such that the two lie about full/2."""
    node = lambda ref, output: np.linalg.solve([[1 / source + 1 / hysteresis]], [ref / source + output / hysteresis])[0]
    ref = brentq(lambda v: (node(v, 0) + node(v, 5)) / 2 - full / 2, -5, 10)
    low, high = node(ref, 0), node(ref, 5)
    return {"ref": ref, "falling": low, "rising": high, "window": high - low, "current": full / load}


def slit_crossing(slit, speed):
    """A slit uncovered and covered by straight edges 1 ms apart, its signal cut at 0.45 of full light: how long it is above."""
    t = np.linspace(-5e-4, 2.5e-3, 3000001)
    light = np.clip(t * speed / slit, 0, 1) - np.clip((t - 1e-3) * speed / slit, 0, 1)
    above = np.count_nonzero(light > 0.45) * (t[1] - t[0])
    return {"off-1000": np.log2(above / 1e-3), "crossing": np.count_nonzero((light > 0) & (light < 1)) * (t[1] - t[0]) / 2}


# ---- focus and lens ----

def from_film(focal, distance):
    """Image distance when the subject stands `distance` from the film: u + v = distance, 1/u + 1/v = 1/f."""
    return brentq(lambda v: 1 / (distance - v) + 1 / v - 1 / focal, focal * (1 + 1e-12), 2 * focal)


def thin(focal, distance):
    return brentq(lambda v: 1 / distance + 1 / v - 1 / focal, focal * (1 - 1e-9), 1e3)


def focus_error(focal_length, aperture, marked, true):
    error = from_film(focal_length, marked) - from_film(focal_length, true)
    return {"error": error, "blur": error / aperture}


def focus_scale(focal_length, lead, read, true):
    travel = from_film(focal_length, read) - from_film(focal_length, true)
    return {"travel": travel, "turn": travel / lead * 2 * np.pi}


def finder_screen(focal_length, screen, film):
    return {"shift": from_film(focal_length, film) - from_film(focal_length, screen)}


def plate(thickness, index):
    """A ray to the ground side, refracted by Snell's law, and where it would have met the axis without the glass."""
    slope = 1e-4
    height = thickness * np.tan(np.arcsin(np.sin(slope) / index))
    return {"shift": height / np.tan(slope), "image-shift": height / np.tan(slope) - thickness}


def blur_limits(focal_length, aperture, circle, distance):
    """Nearest and farthest point whose blur on the film is the circle: thin lens, similar triangles, by roots."""
    film, pupil = thin(focal_length, distance), focal_length / aperture
    blur = lambda d: pupil * (thin(focal_length, d) - film) / thin(focal_length, d)
    near = brentq(lambda d: blur(d) - circle, focal_length * 1.5, distance)
    # set for `d`, the far point of sharpness is at infinity
    hyper = brentq(lambda d: pupil * (thin(focal_length, d) - focal_length) / focal_length - circle, 1, 1000)
    return {"near": near, "hyperfocal": hyper}


def far_enough(focal_length, aperture, circle, part, distance):
    return {"needed": brentq(lambda d: thin(focal_length, d) - focal_length - part * aperture * circle, 1, 1e4),
            "error": thin(focal_length, distance) - focal_length}


def collimator(focal_length, collimator_focal_length, setting):
    """The cross traced: through the collimator to its far image, and through the lens, which stands against it."""
    image = lambda f, u: 1 / (1 / f - 1 / u)
    far = image(collimator_focal_length, collimator_focal_length - setting)
    return {"error": image(focal_length, -far) - focal_length, "scale": focal_length / collimator_focal_length}


def range_line(pairs):
    """1/indicated against 1/true by numpy; 0 is infinity."""
    true, indicated = np.array([[1 / d if d else 0 for d in pair] for pair in table(pairs)]).T
    beta, alpha = np.polyfit(true, indicated, 1)
    return {"alpha": alpha, "beta": beta}


def range_triangle(focal_length, base, magnification):
    """A minute of arc on the effective base: the distance that cannot be told from infinity, and where its image lies."""
    distance = brentq(lambda d: np.arctan(base * magnification / d) - np.radians(1 / 60), 1, 1e5)
    return {"effective": base * magnification, "film-error": thin(focal_length, distance) - focal_length}


def helicoid(lead, starts, sharp_at, focal_length):
    error = thin(focal_length, sharp_at) - focal_length
    return {"pitch": lead / starts, "starts-off": np.round(error / (lead / starts))}


def spherometer(height, span, ball):
    """A ball that touches three balls on a triangle of side `span` and stands `height` over them in the middle."""
    feet = [span / np.sqrt(3) * np.array([np.cos(a), np.sin(a), 0]) for a in np.radians([90, 210, 330])]
    # feet balls have their lowest point at 0; the plunger, at (0, 0, height), is on the face
    touch = lambda R: np.linalg.norm(np.array([0, 0, height - R]) - (feet[0] + np.array([0, 0, ball / 2]))) - (R + ball / 2)
    return {"radius": brentq(touch, span / 2, 100)}


def chord(height, span):
    """The circle through both ends and the crown of the arc, by its three points."""
    points = np.array([[-span / 2, 0], [span / 2, 0], [0, height]])
    rows = np.column_stack([2 * points, np.ones(3)])
    cx, cy, c = np.linalg.solve(rows, (points**2).sum(axis=1))
    return {"radius": np.sqrt(c + cx**2 + cy**2)}


def system(faces):
    """Paraxial matrix of faces (radius, gap behind, index behind), R 0 flat, first to last, in air before."""
    matrix, before = np.eye(2), 1.0
    for k, (radius, gap, index) in enumerate(faces):
        power = 0 if radius == 0 else (index - before) / radius
        matrix = np.array([[1, 0], [-power, 1]]) @ matrix
        if k + 1 < len(faces):
            matrix = np.array([[1, gap / index], [0, 1]]) @ matrix
        before = index
    return matrix


def cardinal(faces):
    (a, b), (c, d) = system(faces)
    return {"focal-length": -1 / c, "back-focus": -a / c, "front-focus": -d / c}


def index_by_root(front_radius, rear_radius, thickness, focal_length):
    return {"index": brentq(lambda n: cardinal([(front_radius, thickness, n), (rear_radius, 0, 1)])["focal-length"] - focal_length,
                            1.2, 2.5)}


def section(surfaces):
    """Paraxial matrices; Petzval's sum over the faces."""
    rows = table(surfaces)
    found, before, petzval = cardinal(rows), 1.0, 0.0
    for radius, _, index in rows:
        petzval += (index - before) / (radius * index * before)
        before = index
    return {**{key: value * 1e-3 for key, value in found.items()}, "petzval": -1e-3 / petzval}


def put_together(groups, spacers, order):
    """Focal length and back focus of pieces in an order: each (which, turned). A spacer touches the glass at its contact
    diameter, so the gap on the axis is its length less and plus the sags there."""
    pieces = [[float(cell) for cell in row.split(",")[1:6]] for row in groups.split(";")]
    lengths = {name: (float(length), float(contact)) for name, length, contact in (row.split(",") for row in spacers.split(";"))}
    sag = lambda radius, contact: radius - np.sign(radius) * np.sqrt(radius**2 - contact**2 / 4)
    placed = [(-p[1], -p[0], *p[2:4]) if turned else tuple(p[:4]) for p, turned in ((pieces[k], t) for k, t in order[::2])]
    faces = []
    for k, (front, rear, thick, index) in enumerate(placed):
        gap = 0
        if 2 * k + 1 < len(order):
            length, contact = lengths[order[2 * k + 1]]
            gap = length + sag(rear, contact) - sag(placed[k + 1][0], contact)
        faces += [(front, thick, index), (rear, gap, 1)]
    found = cardinal(faces)
    return {"answer.0.focal-length": found["focal-length"] * 1e-3, "answer.0.back-focus": found["back-focus"] * 1e-3}


def ordered_triplet(groups, spacers):
    """A (turned) - s2 - C (turned) - s1 - B"""
    return put_together(groups, spacers, [(0, True), "s2", (2, True), "s1", (1, False)])


def ordered_pair(groups, spacers):
    """A - s1 - B"""
    return put_together(groups, spacers, [(0, False), "s1", (1, False)])


def stacked_glasses(glasses, gap, pupils):
    """Two pairs by matrices, from the eye out to the work."""
    lens = lambda power: np.array([[1, 0], [-power, 1]])
    (front,), (behind,) = table(glasses)
    height, slope = lens(front) @ np.array([[1, gap], [0, 1]]) @ lens(behind) @ np.array([1, 0])
    return {"power": -slope, "distance": -height / slope, "convergence": 2 * np.arctan(pupils / 2 / (-height / slope))}
