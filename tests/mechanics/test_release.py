"""A driveshaft whose front joint lets go: contacts against a dense scan, all directions against random shafts."""
from dataclasses import replace

import numpy as np
import pytest
from closed_forms import opening_of, sweep_all
from conftest import ROOT
from scipy.optimize import brentq

from crankline import carfile, model
from crankline.mechanics import release as releasing
from crankline.mechanics import scene as scenes
from crankline.mechanics import travel

INCH = 25.4
CARS = ("full_bodied_automatic", "open_clutch")


@pytest.fixture(scope="module")
def cars():
    found = {}
    for name in CARS:
        car = carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")
        scene = scenes.of(car)
        openings = [opening_of(loop, scene) for loop in car.containment.loops]
        enclosure = car.containment.enclosure
        ends = [tuple(scene.shaft_at(x) + [0.0, 0.0, 3.0]) for x in (enclosure.x_rear, enclosure.x_front)]
        bore = travel.Bore(*ends, enclosure.outer_diameter / 2 - enclosure.wall)
        found[name] = (car, scene, openings, bore, sweep_all(scene, 21))
    return found


SHAFT = model.Driveshaft(material="steel", axial_modulus=2e5, shear_modulus=8e4, density=7.8e-6, outer_diameter=90.0, wall=2.0,
                         joint_swing_diameter=110.0)


def standing(*rears, length=1000.0, travel_=0.0):
    """Level shafts from these rear joints forward."""
    rear = np.array(rears, dtype=float)
    n = len(rear)
    axis, zero = np.tile([1.0, 0.0, 0.0], (n, 1)), np.zeros(n)
    return travel.Sweep(zero + travel_, zero, rear, rear + length * axis, axis, zero + length, zero, zero, zero)


def ring(x, z=300.0, width=180.0, height=180.0, half=11.0, bent=True, y=0.0, name="front"):
    return travel.Opening(name, (x, y, z), width, height, half, bent)


# --- side view --------------------------------------------------------------------------------------------------------


BODY = travel.body_of(SHAFT, whip=0.0)


def rectangles(body, length):
    """The shaft below its axis as what it is put together of: (first, last, radius) along it."""
    return [(0.0, body.reach, body.joint), (body.reach, length - body.reach, body.tube), (length - body.reach, length, body.joint)]


def radius_at(along, body, length):
    """Radius of the shaft at places along it, the larger one at a shoulder."""
    return np.where((along <= body.reach) | (along >= length - body.reach), body.joint, body.tube)


def clearance_below(droop, rear, length, solids, body=BODY):
    """Distance from the shaft, as a set of rectangles that reach up without end, to circles (x, z, r), r = 0 a corner; signed. Of one
    angle, or of many."""
    forward = np.stack([np.cos(droop), -np.sin(droop)], axis=-1)
    down = np.stack([-np.sin(droop), -np.cos(droop)], axis=-1)
    least = np.inf
    for x, z, size in solids:
        along, below = forward @ (np.array([x, z]) - rear), down @ (np.array([x, z]) - rear)
        for first, last, radius in rectangles(body, length):
            beside, under = np.maximum(first - along, along - last), below - radius
            inside = np.maximum(beside, under)
            distance = np.where(inside > 0.0, np.hypot(np.maximum(beside, 0.0), np.maximum(under, 0.0)), inside)
            least = np.minimum(least, distance - size)
    return least


@pytest.mark.parametrize("bent", [True, False])
def test_droop_on_a_loop_against_a_scan_and_a_root_finder(bent):
    rng, zones = np.random.default_rng(3), set()
    for place in (*rng.uniform(100, 950, 24), 905.0, 880.0, 912.0):
        opening = ring(place, rng.uniform(760, 840), 180.0, rng.uniform(170, 300), rng.uniform(5, 25), bent)
        rear = np.array([rng.uniform(-20, 20), 0.0, rng.uniform(770, 830)])     # high up, so that the track is not first
        got = releasing.release(standing(rear), SHAFT, [opening])
        bottom, half = opening.center[2] - opening.inner_height / 2, opening.half_width
        solids = ([(opening.center[0], bottom - half, half)] if bent else
                  [(opening.center[0] + way * half, bottom, 0.0) for way in (1.0, -1.0)])
        start = got.droop[0] - 0.05003         # so that no step of the scan falls on what is expected
        zones.add(int(np.searchsorted([BODY.reach, 1000.0 - BODY.reach], 1000.0 - got.overlap[0] - 1e-6)))

        def gap(angle, rear=rear, solids=solids):
            return clearance_below(angle, rear[[0, 2]], 1000.0, solids)

        steps = np.linspace(start, start + 0.3, 3001)
        gaps = gap(steps)
        assert gaps[0] > 0.0
        stop = int(np.argmax(gaps <= 0.0))
        expected = brentq(gap, steps[stop - 1], steps[stop], xtol=1e-13)
        assert got.droop[0] == pytest.approx(expected, abs=1e-9)
        assert got.held_by == ("front",) and got.overlap[0] > 0.0
    assert zones == {1, 2}, "on the tube, and on the joint or its shoulder"


@pytest.mark.parametrize("bent", [True, False])
def test_a_loop_just_behind_the_joint_is_met_by_the_shoulder(bent):
    """Loop 6 mm behind the shoulder, its bottom 120 mm under the joints: sinking, the shaft draws the shoulder back against it,
    before the tube would come down on it."""
    opening = ring(911.0, 770.0, 180.0, 180.0, 0.05, bent)
    got = releasing.release(standing((0.0, 0.0, 800.0)), SHAFT, [opening])
    thin = releasing.release(standing((0.0, 0.0, 800.0)), replace(SHAFT, joint_swing_diameter=90.0), [opening])
    assert got.held_by == thin.held_by == ("front",) and got.droop[0] < thin.droop[0] - 1e-3
    solids = [(911.0, 679.95, 0.05)] if bent else [(910.95, 680.0, 0.0), (911.05, 680.0, 0.0)]
    assert clearance_below(got.droop[0], np.array([0.0, 800.0]), 1000.0, solids) == pytest.approx(0.0, abs=1e-9)
    assert clearance_below(got.droop[0] - 1e-3, np.array([0.0, 800.0]), 1000.0, solids) > 0.0


def test_droop_by_hand():
    """Joint at 300, strap corner 500 ahead and 45 + 60 below: the shaft's lower side (45 below its axis) comes down on it.
    h cos a - D sin a = r with h = 105, D = 500: a = 6.81 deg, and the free end 1000 on lies 1000 sin a below."""
    opening = ring(500.0, 285.0, 180.0, 180.0, 1e-6, False)         # inside from 195 to 375
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [opening])
    a = got.droop[0]
    assert 105.0 * np.cos(a) - 500.0 * np.sin(a) == pytest.approx(45.0, abs=1e-3)
    assert got.drop[0] == pytest.approx(1000.0 * np.sin(a)) and np.degrees(a) == pytest.approx(6.81, abs=0.01)
    assert got.tip[0] == pytest.approx((1000.0 * np.cos(a), 0.0, 300.0 - 1000.0 * np.sin(a)))
    # Half the swing diameter below the free end, the joint's corner.
    assert got.lowest[0] == pytest.approx(300.0 - 1000.0 * np.sin(a) - 55.0 * np.cos(a))
    assert got.above_track[0] == got.lowest[0] > 0.0 and got.above_track.min() > 0.0


def test_the_first_contact_counts():
    near, far = ring(300.0, name="near"), ring(900.0, name="far")
    alone = [releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [one]).droop[0] for one in (near, far)]
    both = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [near, far])
    assert both.droop[0] == min(alone) == alone[1] and both.held_by == ("far",)


def test_a_loop_ahead_of_the_free_end_holds_nothing():
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [ring(1030.0)])
    assert got.held_by == ("nothing",) and got.above_track.min() <= 1e-9 and np.isnan(got.overlap[0])


def test_a_tall_loop_near_the_end_is_slipped_out_of():
    """Level, the shaft reaches 20 mm through; leaning down 250 mm it has drawn back by 1000 (1 - cos) = 32 mm."""
    tall = ring(980.0, 300.0, 180.0, 600.0, 1.0, False)
    assert releasing.release(standing((0.0, 0.0, 600.0)), SHAFT, [tall]).held_by == ("nothing",)
    low = ring(980.0, 600.0, 180.0, 180.0, 1.0, False)
    assert releasing.release(standing((0.0, 0.0, 600.0)), SHAFT, [low]).held_by == ("front",)


def test_nothing_around_it_lies_on_the_track():
    got = releasing.release(standing((0.0, 0.0, 300.0), (0.0, 0.0, 350.0)), SHAFT)
    assert got.lowest == pytest.approx(0.0, abs=1e-9) and got.above_track == pytest.approx(0.0, abs=1e-9)
    assert np.sin(got.droop) * 1000.0 + 55.0 * np.cos(got.droop) == pytest.approx([300.0, 350.0])
    assert np.isinf(got.left).all() and got.driver_clearance is None
    bump = releasing.release(standing((0.0, 0.0, 300.0), travel_=60.0), SHAFT)
    assert bump.lowest[0] == pytest.approx(60.0)           # the body has come down by the bump, the track is up by it


def test_in_the_enclosure_the_free_end_rests_on_its_floor():
    """Level bore: the lower corner of the joint stands on the floor: 1000 sin a + 55 cos a = height over the floor."""
    bore = travel.Bore((700.0, 0.0, 300.0), (1100.0, 0.0, 300.0), 74.0)
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, bore=bore)
    a = got.droop[0]
    assert 1000.0 * np.sin(a) + 55.0 * np.cos(a) == pytest.approx(74.0, abs=1e-9)
    assert got.held_by == ("enclosure",) and got.overlap[0] == pytest.approx(300.0, abs=5.0)
    # Where the bore ends behind the free end, its front edge carries.
    short = travel.Bore((700.0, 0.0, 300.0), (900.0, 0.0, 300.0), 74.0)
    b = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, bore=short).droop[0]
    assert 74.0 * np.cos(b) - 900.0 * np.sin(b) == pytest.approx(45.0, abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_droop_in_a_leaning_enclosure_against_a_scan(seed):
    rng = np.random.default_rng(seed)
    lean = rng.uniform(-0.04, 0.06)
    rear, front = np.array([600.0, 0.0, 300.0 + 300 * lean]), np.array([rng.uniform(850, 1200), 0.0, 0.0])
    front[2] = rear[2] - lean * (front[0] - rear[0])
    got = releasing.release(standing((0.0, 0.0, rng.uniform(280, 330))), SHAFT, bore=travel.Bore(tuple(rear), tuple(front), 74.0))
    joint = np.array([0.0, got.tip[0, 2] + 1000.0 * np.sin(got.droop[0])])
    forward = (front - rear)[[0, 2]] / np.linalg.norm(front - rear)
    upward = np.array([-forward[1], forward[0]])

    def room(a):
        """Least height of sampled points of the shaft's lower side over the floor, between the bore's ends."""
        s = np.linspace(0.0, 1000.0, 50_001)[:, None]
        points = joint + s * [np.cos(a), -np.sin(a)] - radius_at(s, BODY, 1000.0) * np.array([np.sin(a), np.cos(a)])
        step = (points - rear[[0, 2]]) @ forward
        over = (points - rear[[0, 2]]) @ upward + 74.0
        return over[(step >= 0.0) & (step <= np.linalg.norm(front - rear))].min()

    assert room(got.droop[0] - 1e-4) > 0.0 > room(got.droop[0] + 1e-4)
    assert room(got.droop[0]) == pytest.approx(0.0, abs=2e-3)


# --- all directions ---------------------------------------------------------------------------------------------------


def possible(rear, length, slopes, openings, bore, body):
    """Which of many shafts stand clear of rings and bore, and points along those that do. Exact distances from straight lines to circles,
    sampled; some hundred at a time, which fit into the processor's cache."""
    parts = [_possible(rear, length, some, openings, bore, body) for some in np.array_split(slopes, max(1, len(slopes) // 250))]
    return tuple(np.concatenate(found) for found in zip(*parts))


def _possible(rear, length, slopes, openings, bore, body):
    axis = np.column_stack([np.ones(len(slopes)), slopes])
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    clear = np.ones(len(slopes), bool)
    s = np.unique([*np.linspace(0.0, length, 101), body.reach, length - body.reach])
    points = rear + s[None, :, None] * axis[:, None, :]
    for opening in openings:
        core = np.subtract((opening.inner_width, opening.inner_height), 2 * opening.radius) / 2

        def room(at, opening=opening, core=core):
            """From points to the inside of the ring at their station, a bent tube being wider away from its middle."""
            half = opening.half_width
            wider = half - np.sqrt(np.maximum(half**2 - at[..., 0] ** 2, 0.0)) if opening.round_section else 0.0
            inside = opening.radius + wider - np.hypot(np.maximum(abs(at[..., 1]) - core[0], 0.0),
                                                       np.maximum(abs(at[..., 2]) - core[1], 0.0))
            return np.where(abs(at[..., 0]) > half + 1e-9, np.inf, inside)

        width = np.linspace(-1.0, 1.0, 9) * opening.half_width
        along = (opening.center[0] + width - rear[0]) / axis[:, :1]
        at = rear + along[..., None] * axis[:, None, :] - opening.center
        clear &= ((room(at) >= radius_at(along, body, length)) | (along > length)).all(axis=1)
        # The rim of the shoulder, which leans with the shaft.
        across = np.cross(axis, [0.0, 0.0, 1.0])
        across /= np.linalg.norm(across, axis=1, keepdims=True)
        up, turn = np.cross(across, axis), np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
        rim = (rear + (length - body.reach) * axis - opening.center)[:, None] + body.joint * (
            np.cos(turn)[:, None] * across[:, None] + np.sin(turn)[:, None] * up[:, None])
        clear &= (room(rim) >= 0.0).all(axis=1)
    if bore is not None:
        first, last = np.asarray(bore.rear), np.asarray(bore.front)
        along = (last - first) / np.linalg.norm(last - first)
        from_first = points - first
        step = from_first @ along
        off = np.sqrt(np.maximum(np.einsum("ijk,ijk->ij", from_first, from_first) - step**2, 0.0)) + radius_at(s, body, length)
        clear &= np.where((step >= 0.0) & (step <= np.linalg.norm(last - first)), off, 0.0).max(axis=1) <= bore.radius
    return clear, points[clear]


@pytest.mark.parametrize("name", CARS)
@pytest.mark.parametrize("what", ["both", "loops", "enclosure"])
def test_no_possible_shaft_goes_farther(cars, name, what):
    """8,000 random directions a position: what stands clear of everything lies within the bounds, and comes near them."""
    car, _scene, openings, bore, found = cars[name]
    given = {"both": (openings, bore), "loops": (openings, None), "enclosure": ([], bore)}[what]
    driver = car.car.driver_envelope
    got = releasing.release(found, car.driveshaft, *given, driver)
    body = travel.body_of(car.driveshaft, whip=0.0)
    rng = np.random.default_rng(5)
    for i in (0, 10, 20):
        slopes = rng.uniform(-0.25, 0.15, (8_000, 2)) * [0.8, 1.0]
        clear, points = possible(found.rear[i], found.length[i], slopes, *given, body)
        assert clear.any() and not clear.all()
        tips = points[:, -1]
        assert (found.rear[i, 2] - tips[:, 2]).max() <= found.length[i] * np.sin(got.droop[i]) + 0.5
        assert (found.rear[i, 2] - tips[:, 2]).max() >= found.length[i] * np.sin(got.droop[i]) - 8.0
        assert (tips[:, 1] - found.rear[i, 1]).max() <= got.left[i] and (found.rear[i, 1] - tips[:, 1]).max() <= got.right[i]
        low = np.array([driver.x_rear, driver.y_right, driver.z_low])
        high = np.array([driver.x_front, driver.y_left, driver.z_high])
        away = points - np.clip(points, low, high)
        nearest = np.linalg.norm(away, axis=-1).min() - body.joint
        assert got.driver_clearance[i] <= nearest + 1e-6
        assert nearest - got.driver_clearance[i] < 12.0


def test_demo_cars_hold_their_shafts(cars):
    for name in CARS:
        car, _scene, openings, bore, found = cars[name]
        got = releasing.release(found, car.driveshaft, openings, bore, car.car.driver_envelope)
        assert got.above_track.min() > 0.0 and got.driver_clearance.min() > 0.0
        assert set(got.held_by) <= {"enclosure", "front"}
        assert got.above_track[got.worst] == got.above_track.min()


def test_without_containment_the_shaft_reaches_track_and_driver(cars):
    car, _scene, openings, _bore, found = cars["full_bodied_automatic"]
    rear_only = releasing.release(found, car.driveshaft, openings[2:], None, car.car.driver_envelope)
    assert rear_only.above_track.min() <= 1e-9 and rear_only.driver_clearance.min() <= 0.0
    bare = releasing.release(found, car.driveshaft, (), None, car.car.driver_envelope)
    assert bare.above_track.min() <= 1e-9 and bare.driver_clearance.min() <= 0.0


def test_a_driver_ahead_of_the_shaft_is_not_reached():
    box = model.DriverEnvelope(x_rear=1500.0, x_front=2500.0, y_right=-300.0, y_left=300.0, z_low=0.0, z_high=1000.0)
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, driver=box)
    assert got.driver_clearance[0] == pytest.approx(1500.0 - 1000.0 - 55.0)


def test_a_larger_loop_lets_it_drop_farther(cars):
    car, scene, openings, _bore, found = cars["full_bodied_automatic"]
    wide = [replace(openings[0], inner_width=9.5 * INCH, inner_height=9.5 * INCH)]
    small, large = (releasing.release(found, car.driveshaft, given) for given in (openings[:1], wide))
    assert (large.droop > small.droop).all()
    # The loop's bottom lies 1 in lower; the free end, a little past it, drops by about as much times 43.3 over 40.7.
    assert large.drop - small.drop == pytest.approx(INCH * 43.3 / 40.75, rel=0.04)


# --- open loops -------------------------------------------------------------------------------------------------------


def lowest_in_gap(opening, radius):
    """Height of the shaft's center, straight under the ring's center, at rest: by bisection on distances to the sampled
    inside that the gap leaves standing."""
    turn = np.linspace(opening.open_angle / 2, np.pi, 6001)        # from straight down, one side: the other mirrors it
    ways = np.column_stack([np.sin(turn), -np.cos(turn)])
    low, high = np.zeros(len(ways)), np.full(len(ways), 1e3)
    core = np.array(opening.core)
    for _halving in range(60):                                     # where the ray meets the inside
        middle = 0.5 * (low + high)
        away = ways * middle[:, None]
        within = np.linalg.norm(away - np.clip(away, -core, core), axis=1) < opening.radius
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    aside, up = (ways * low[:, None]).T
    beside = aside**2

    def room(z):
        return np.sqrt((beside + (up - z) ** 2).min())

    coarse = np.linspace(0.0, -opening.inner_height, 4001)[::8]
    stop = next((place for place, z in enumerate(coarse) if room(z) < radius), 0)
    if stop == 0:
        return -np.inf
    return brentq(lambda z: room(z) - radius, coarse[stop - 1], coarse[stop])


@pytest.mark.parametrize("width,height", [(180.0, 180.0), (180.0, 260.0), (260.0, 180.0), (180.0, 190.0), (200.0, 180.0)])
@pytest.mark.parametrize("angle", [2.0, 20.0, 45.0, 55.0, 100.0])
def test_an_open_loop_lets_the_shaft_sink_or_fall(width, height, angle):
    opening = replace(ring(500.0, width=width, height=height), open_angle=np.radians(angle))
    rest = lowest_in_gap(opening, 45.0)
    sag = opening.sag(45.0)
    assert (sag == np.inf) == (rest == -np.inf)
    if np.isfinite(sag):
        assert sag == pytest.approx(-(height / 2 - 45.0) - rest, abs=1e-6) and sag > 0.0


def test_what_falls_through_is_held_by_the_next():
    wide = replace(ring(900.0, name="open"), open_angle=np.radians(80.0))        # 116 mm of gap under 110 mm of joint
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [wide, ring(300.0, 300.0, name="closed")])
    alone = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [ring(300.0, 300.0, name="closed")])
    assert got.held_by == ("closed",) and got.droop == alone.droop and got.left == alone.left
    narrow = replace(ring(900.0, name="open"), open_angle=np.radians(20.0))
    sunk = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [narrow])
    whole = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [ring(900.0)])
    assert sunk.held_by == ("open",) and (sunk.drop - whole.drop)[0] == pytest.approx(narrow.sag(45.0) * 1000 / 900, rel=0.02)


def test_a_loop_of_the_demo_left_open_by_20_degrees(cars):
    car, scene, *_rest = cars["full_bodied_automatic"]
    opened = opening_of(replace(car.containment.loops[0], open_angle=np.radians(20.0)), scene)
    # On its corners: 3.75 cos 10 - sqrt(1.875^2 - (3.75 sin 10)^2) - (3.75 - 1.875) in.
    assert opened.sag(1.875 * INCH) / INCH == pytest.approx(3.75 * np.cos(np.radians(10)) - np.sqrt(
        1.875 ** 2 - (3.75 * np.sin(np.radians(10))) ** 2) - 1.875)


# --- what is reached first --------------------------------------------------------------------------------------------


def test_the_floor_is_reached_before_the_track():
    low = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, floor=100.0)
    assert low.first == ("floor",) and low.over_floor[0] == pytest.approx(-100.0, abs=1e-9)
    held = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, [ring(900.0)], floor=100.0)
    assert held.first == ("",) and held.over_floor[0] == pytest.approx(held.lowest[0] - 100.0) and held.over_floor[0] > 0.0
    assert releasing.release(standing((0.0, 0.0, 300.0)), SHAFT).first == ("track",)


@pytest.mark.parametrize("z_high, first", [(225.0, "driver's envelope"), (120.0, "floor")])
def test_a_driver_beneath_the_shaft_is_first_if_nearer(z_high, first):
    """A box under the shaft from 600 to 800 ahead of the rear joint, floor at 100. Sinking, the shaft's side (55 thick) meets the box's
    front top edge at (300 - 55 - z) / 800 and the floor at (300 - 55 - 100) / 1000 of slope, nearly."""
    box = model.DriverEnvelope(x_rear=600.0, x_front=800.0, y_right=-300.0, y_left=300.0, z_low=0.0, z_high=z_high)
    got = releasing.release(standing((0.0, 0.0, 300.0)), SHAFT, driver=box, floor=100.0)
    assert (300.0 - 55.0 - z_high) / 800.0 < 0.145 or first == "floor"
    assert got.first == (first,) and got.driver_clearance.min() <= 0.0
