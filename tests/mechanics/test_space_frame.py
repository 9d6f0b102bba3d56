"""The space frame against beam tables, a portal frame of a handbook and a kept library (numbers beside the checks)."""
from __future__ import annotations

import math

import numpy as np
import pytest

from crankline.mechanics import beams, chassis_frame, mounts_load, welds
from crankline.mechanics.beams import Bar
from crankline.mechanics.chassis_frame import Chassis, Tube
from crankline.mechanics.space_frame import Element, SpaceFrame, axes_of, displacements, end_forces, local_stiffness

BAR = Bar(41.275, 2.1082, 1.0, 414.0)
UPRIGHT = Bar(31.75, 1.651, 1.0, 414.0)


def frame(nodes, members, held):
    """held: node to its six bools."""
    elements = tuple(Element(a, b, bar.modulus * float(bar.section.area) * stiff, bar.bending, bar.twist) for a, b, bar, stiff in members)
    mask = np.zeros((len(nodes), 6), dtype=bool)
    for node, own in held.items():
        mask[node] = own
    return SpaceFrame(np.array(nodes, dtype=float), elements, mask)


def loaded(size, **on):
    """Loads on nodes: n3=(1, 0, 0, 0, 0, 0)."""
    found = np.zeros((size, 6))
    for name, load in on.items():
        found[int(name[1:])] = load
    return found


@pytest.mark.parametrize("way", [(1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (2.0, -1.0, 3.0)])
def test_a_cantilever_whichever_way_it_points(way):
    """Tip: P L^3 / 3 E I, turn P L^2 / 2 E I, pull P L / E A, twist T L / G J; root moment P L."""
    length, push = 750.0, 120.0
    along = np.array(way) / np.linalg.norm(way)
    across = np.cross(along, [0.3, 0.9, 0.1])
    across = across / np.linalg.norm(across)
    given = frame([(0, 0, 0), tuple(along * length)], [(0, 1, BAR, 1.0)], {0: [True] * 6})
    moved = displacements(given, loaded(2, n1=(*(across * push), 0, 0, 0)))[1]
    np.testing.assert_allclose(moved[:3], across * push * length**3 / (3.0 * BAR.bending), rtol=1e-10, atol=1e-12)
    np.testing.assert_allclose(moved[3:], np.cross(along, across) * push * length**2 / (2.0 * BAR.bending), rtol=1e-10, atol=1e-14)
    own = end_forces(given, displacements(given, loaded(2, n1=(*(across * push), 0, 0, 0))))
    assert math.hypot(*own[0, 0, 4:]) == pytest.approx(push * length) and math.hypot(*own[0, 1, 4:]) == pytest.approx(0.0, abs=1e-6)
    pulled = displacements(given, loaded(2, n1=(*(along * 1000.0), *(along * 5e4))))[1]
    np.testing.assert_allclose(pulled[:3], along * 1000.0 * length / (BAR.modulus * float(BAR.section.area)), atol=1e-12)
    np.testing.assert_allclose(pulled[3:], along * 5e4 * length / BAR.twist, atol=1e-14)


def test_a_beam_clamped_at_both_ends():
    """Load in the middle: P L^3 / 192 E I, P L / 8 at the ends and in the middle; at a third: P a b^2 / L^2 at the near end."""
    length, load = 1200.0, 900.0
    for share in (0.5, 1.0 / 3.0):
        given = frame([(0, 0, 0), (share * length, 0, 0), (length, 0, 0)], [(0, 1, BAR, 1.0), (1, 2, BAR, 1.0)],
                      {0: [True] * 6, 2: [True] * 6})
        moved = displacements(given, loaded(3, n1=(0, 0, -load, 0, 0, 0)))
        moment = math.hypot(*end_forces(given, moved)[0, 0, 4:])
        a, b = share * length, (1.0 - share) * length
        assert moment == pytest.approx(load * a * b**2 / length**2, rel=1e-9)
        if share == 0.5:
            assert -moved[1, 2] == pytest.approx(load * length**3 / (192.0 * BAR.bending), rel=1e-9)


def test_a_portal_frame_of_the_handbook():
    """Fixed feet, load H at the level of the beam (Kleinlogel, Rahmenformeln): with k = (I beam / I post) h / l the moment is
    H h / 2 (3 k + 1) / (6 k + 1) at a foot and H h / 2 (3 k) / (6 k + 1) at a corner; axial strain left out."""
    high, wide, push = 500.0, 700.0, 1000.0
    nodes = [(0, 0, 0), (0, 0, high), (wide, 0, high), (wide, 0, 0)]
    given = frame(nodes, [(0, 1, UPRIGHT, 1e5), (1, 2, BAR, 1e5), (2, 3, UPRIGHT, 1e5)], {0: [True] * 6, 3: [True] * 6})
    own = end_forces(given, displacements(given, loaded(4, n1=(push, 0, 0, 0, 0, 0))))
    k = BAR.bending / UPRIGHT.bending * high / wide
    assert math.hypot(*own[0, 0, 4:]) == pytest.approx(push * high / 2.0 * (3 * k + 1) / (6 * k + 1), rel=1e-4)
    assert math.hypot(*own[1, 0, 4:]) == pytest.approx(push * high / 2.0 * 3 * k / (6 * k + 1), rel=1e-4)
    # Both posts alike: each takes half of the push.
    assert abs(own[0, 0, 1]) + abs(own[0, 0, 2]) == pytest.approx(push / 2.0, rel=1e-4)


def test_a_frame_of_rails_and_uprights_as_a_kept_library_has_it():
    """PyNiteFEA 3.2.0, the same nodes, sections and loads: movements of three nodes, end forces of two members."""
    nodes = [(0, 336, 110), (900, 336, 110), (1500, 336, 110), (2400, 336, 110), (0, -336, 110), (900, -336, 110), (1500, -336, 110),
             (2400, -336, 110), (1500, 356, 600), (1500, -356, 600), (1560, 0, 620)]
    members = [(0, 1, BAR), (1, 2, BAR), (2, 3, BAR), (4, 5, BAR), (5, 6, BAR), (6, 7, BAR), (1, 5, UPRIGHT), (2, 8, UPRIGHT),
               (6, 9, UPRIGHT), (8, 10, UPRIGHT), (10, 9, UPRIGHT)]
    pinned = [True, True, True, True, False, False]
    given = frame(nodes, [(*member, 1.0) for member in members], dict.fromkeys((0, 3, 4, 7), pinned))
    moved = displacements(given, loaded(11, n10=(1500, 0, -2500, 0, 0, 0), n1=(0, 800, 0, 0, 0, 0), n6=(0, 0, 0, 3e5, 0, 0)))
    library = {1: (0.002600469732697, 9.018301363539718, -20.15691504289459, 0.003440355119333, 0.015880536323245, 0.002918671685187),
               6: (0.009188713511188, 7.491933596802257, -28.376357918322793, 0.014256810013230, -0.004278493039849, -0.006211768025022),
               10: (12.89195594570926, 3.866932965547058, -31.84317371570441, 0.005096826273690, 0.041230670869383, -0.001860256492073)}
    for node, wanted in library.items():
        np.testing.assert_allclose(moved[node], wanted, rtol=1e-7)
    own = end_forces(given, moved)
    for member, axial, shear, twist, start, stop in (
            (1, -386.8556188136331, (85.3346639136289, 249.2335599634116), -11131.35179071837, (224720.59852327965, 152372.664358333),
             (374260.73450132785, 101171.8660101553)),
            (7, 1181.6256603100337, (131.05746620067066, 794.6653804619518), -69190.18500113444, (466384.0286540542, 47919.544567879406),
             (76673.77398965624, 112191.17358869256))):
        assert own[member, 0, 0] == pytest.approx(axial, rel=1e-7) and own[member, 0, 3] == pytest.approx(twist, rel=1e-7)
        assert math.hypot(*own[member, 0, 1:3]) == pytest.approx(math.hypot(*shear), rel=1e-7)
        assert math.hypot(*own[member, 0, 4:]) == pytest.approx(math.hypot(*start), rel=1e-7)
        assert math.hypot(*own[member, 1, 4:]) == pytest.approx(math.hypot(*stop), rel=1e-7)


@pytest.mark.parametrize("seed", range(6))
def test_many_nodes_give_as_their_equations_have_it(seed):
    """Chains with branches and rings, so many nodes that they are taken out in rounds, against the whole matrix, assembled element by
    element and solved at once, under each way of holding them."""
    random = np.random.default_rng(seed)
    count = int(random.integers(20, 45))
    nodes = random.uniform(-900.0, 900.0, (count, 3))
    links = {(int(random.integers(max(0, place - 3), place)), place) for place in range(1, count)}
    links |= {tuple(sorted(map(int, random.choice(count, 2, replace=False)))) for _more in range(int(random.integers(0, 12)))}
    held = np.zeros((2, count, 6), dtype=bool)
    held[:, 0] = held[:, random.integers(1, count)] = True
    held[1, random.integers(1, count, 4), :3] = True
    given = frame(nodes, [(*pair, BAR if sum(pair) % 2 else UPRIGHT, 1.0) for pair in sorted(links)], {})
    loads = random.normal(size=(5, count, 6)) * [1e3, 1e3, 1e3, 1e5, 1e5, 1e5]
    whole = np.zeros((6 * count, 6 * count))
    for element in given.elements:
        rows, length = axes_of(nodes[[element.start]], nodes[[element.end]])
        turn = np.kron(np.eye(4), rows[0])
        places = [6 * node + way for node in (element.start, element.end) for way in range(6)]
        whole[np.ix_(places, places)] += turn.T @ local_stiffness([element.axial], [element.bending], [element.twist], length)[0] @ turn
    for own, moved in zip(held.reshape(2, -1), displacements(given, loads, held).reshape(2, 5, -1)):
        assert not moved[:, own].any()
        wanted = np.linalg.solve(whole[np.ix_(~own, ~own)], loads.reshape(5, -1)[:, ~own].T).T
        np.testing.assert_allclose(moved[:, ~own], wanted, rtol=1e-5, atol=1e-8 * np.abs(wanted).max())


def test_what_can_move_freely_is_refused():
    loose = frame([(0, 0, 0), (100, 0, 0)], [(0, 1, BAR, 1.0)], {0: [True, True, True, False, False, False]})
    with pytest.raises(ValueError, match="move without being bent"):
        displacements(loose, loaded(2))
    with pytest.raises(ValueError, match="hangs on nothing"):
        displacements(frame([(0, 0, 0), (100, 0, 0), (0, 50, 0)], [(0, 1, BAR, 1.0)], {0: [True] * 6}), loaded(3))
    with pytest.raises(ValueError, match="without length"):
        displacements(frame([(0, 0, 0), (0, 0, 0)], [(0, 1, BAR, 1.0)], {}), loaded(2))
    many = [(100.0 * place, 0.0, 0.0) for place in range(30)]
    chain = [(place, place + 1, BAR, 1.0) for place in range(29)]
    assert np.isfinite(displacements(frame(many, chain, {0: [True] * 6}), loaded(30, n29=(0, 0, 1, 0, 0, 0)))).all()
    with pytest.raises(ValueError, match="move without being bent"):
        displacements(frame(many, chain, {0: [True] * 3 + [False] * 3}), loaded(30))
    with pytest.raises(ValueError, match="hangs on nothing"):
        displacements(frame(many, chain[1:], {1: [True] * 6}), loaded(30))
    with pytest.raises(ValueError, match="without length"):
        displacements(frame(many, [*chain, (7, 7, BAR, 1.0)], {0: [True] * 6}), loaded(30))


# --- a chassis --------------------------------------------------------------------------------------------------------

LENGTH = 1000.0
RAIL = Tube("rail/left", BAR, ((0.0, 300.0, 100.0), (LENGTH, 300.0, 100.0)), (True, True))
DOWN = np.array([[[0.0, 0.0, -2000.0]]])


@pytest.mark.parametrize("ends, moment", [("pinned", 2000.0 * 300.0 * 700.0 / LENGTH),
                                          ("clamped", float(np.max(beams.fixed_end_moments(LENGTH, [300.0], [2000.0]))))])
def test_one_rail_is_the_beam_of_the_tables(ends, moment):
    built = chassis_frame.build(Chassis((RAIL,), (("rail/left", (300.0, 300.0, 100.0)),)), ends)
    item, = chassis_frame.margins(built, ["down"], DOWN)
    assert item.margin.actual == pytest.approx(moment / float(beams.tube_modulus(BAR.outer_diameter, BAR.wall)), rel=1e-9)
    assert item.subjects == ("rail/left",) and item.margin.allowable == 414.0 / 1.5
    give, = built.give
    np.testing.assert_allclose(give, give.T, atol=1e-15)       # Maxwell and Betti
    a, b = 300.0, 700.0
    sag = (a * b) ** 2 / (3.0 * BAR.bending * LENGTH) if ends == "pinned" else (a * b) ** 3 / (3.0 * BAR.bending * LENGTH**3)
    assert give[2, 2] == pytest.approx(sag, rel=1e-9)


def test_a_force_beside_the_rail_twists_it():
    """An arm of 80 mm up: a push along Y twists the rail, which both ends keep from twisting, by F h over G J (1/a + 1/b)."""
    built = chassis_frame.build(Chassis((RAIL,), (("rail/left", (400.0, 300.0, 180.0)),)), "pinned")
    unit, = built.moved
    place, arm = built.seats[0]
    assert arm == pytest.approx([0.0, 0.0, 80.0])
    assert unit[1, place, 3] == pytest.approx(-80.0 / (BAR.twist * (1.0 / 400.0 + 1.0 / 600.0)), rel=1e-9)


STIFF = Bar(200.0, 50.0, 1.0, 414.0)
SIDES = tuple(Tube(f"rail/{name}", STIFF, ((480.0, y, 100.0), (520.0, y, 100.0)), (True, True))
              for name, y in (("left", 300.0), ("right", -300.0)))
ACROSS = Tube("cross_member", UPRIGHT, ((500.0, -300.0, 100.0), (500.0, 300.0, 100.0)))


def test_a_cross_member_between_stiff_rails_is_a_clamped_beam():
    """Load in the middle: F L / 8 in the middle and at the welds, half of the load at each."""
    built = chassis_frame.build(Chassis((*SIDES, ACROSS), (("cross_member", (500.0, 0.0, 100.0)),)), "clamped")
    item, = chassis_frame.margins(built, ["down"], DOWN, only="cross_member")
    moment = 2000.0 * 600.0 / 8.0
    assert item.group == "cross_member" and item.margin.actual == pytest.approx(
        moment / float(beams.tube_modulus(UPRIGHT.outer_diameter, UPRIGHT.wall)), rel=5e-3)
    held = float(welds.tube_weld_force(UPRIGHT.outer_diameter, 0.0, 1000.0, moment))
    assert chassis_frame.weld_force(built, "cross_member", DOWN) == pytest.approx([held], rel=5e-3)


def test_floor_tubes_that_are_welded_to_a_cross_member_take_their_share():
    """A tube as long and as stiff as the member, crossing below its middle and clamped beyond: each carries half (two clamped beams that
    give alike), the joint being a cross of equal arms; and a tube that nothing holds is left out."""
    arms = tuple(Tube(f"tube/{name}", UPRIGHT, ((500.0, 0.0, 100.0), (500.0 + way * 300.0, 0.0, 100.0)), (False, True))
                 for name, way in (("ahead", 1.0), ("behind", -1.0)))
    loose = Tube("tube/loose", UPRIGHT, ((500.0, 0.0, 900.0), (900.0, 0.0, 900.0)))
    built = chassis_frame.build(Chassis((*SIDES, ACROSS, *arms, loose), (("cross_member", (500.0, 0.0, 100.0)),)), "clamped")
    found = {item.subjects[0]: item for item in chassis_frame.margins(built, ["down"], DOWN)}
    assert found["cross_member"].margin.actual == pytest.approx(found["tube/ahead"].margin.actual, rel=1e-2)
    alone = 2000.0 * 600.0 / 8.0 / float(beams.tube_modulus(UPRIGHT.outer_diameter, UPRIGHT.wall))
    assert found["tube/behind"].margin.actual == pytest.approx(0.5 * alone, rel=1e-2)
    assert "tube/loose" not in found and found["tube/ahead"].margin.item == "tube ahead in the chassis"


def test_walls_of_usual_steels_buckle_beyond_the_published_ratios():
    """AISC 360, table B4.1a case 9, as design tables print it for 29,000 ksi: 69.3 at 46 ksi and 91.1 at 35 ksi."""
    for strength_, ratio in ((46.0, 69.3), (35.0, 91.1)):
        assert float(beams.nonslender_ratio(29000.0, strength_)) == pytest.approx(ratio, abs=0.05)


def test_a_column_counts_up_its_push():
    """A post between its ends, clamped above, pushed on its foot: Euler load of its length between joints over the yield of its section."""
    slim = Bar(20.0, 1.0, 1.0, 414.0)
    tubes = (RAIL, Tube("upright/left", slim, ((500.0, 300.0, 100.0), (500.0, 300.0, 1600.0)), (False, True)))
    built = chassis_frame.build(Chassis(tubes, (("rail/left", (500.0, 300.0, 100.0)),)), "pinned")
    up, post = chassis_frame.margins(built, ["up"], -DOWN)
    assert post.subjects == ("upright/left",) and post.margin.actual > 2.0 * 2000.0 * 0.5 / float(slim.section.area)
    down = chassis_frame.margins(built, ["down"], DOWN)[1]
    assert down.margin.actual < post.margin.actual      # pulled, it does not buckle


def test_a_tube_in_the_air():
    """One that carries a mount is taken as welded to what is nearest; the rules about gaps say that it must reach it."""
    air = Tube("support_tube", UPRIGHT, ((500.0, -200.0, 600.0), (500.0, 200.0, 600.0)))
    both = chassis_frame.build(Chassis((RAIL, air), (("support_tube", (500.0, 0.0, 590.0)),)), "pinned")
    assert set(both.owners) == {"rail/left", "support_tube", ""}
    with pytest.raises(ValueError, match="support_tube: found a mount on it, but it is welded to no tube"):
        chassis_frame.build(Chassis((air,), (("support_tube", (500.0, 0.0, 590.0)),)), "pinned")
    with pytest.raises(ValueError, match="no such tube"):
        chassis_frame.build(Chassis((RAIL,), (("rail/right", (0.0, 0.0, 0.0)),)), "pinned")
    chassis_frame.build(Chassis((RAIL, air), (("rail/left", (500.0, 300.0, 100.0)),)), "pinned")   # what carries nothing may hang


@pytest.mark.parametrize("beside", [0.0, 0.12, 0.45])
def test_centerlines_that_all_but_meet_are_one_node(beside):
    """An upright whose foot stands that far, mm, off the rail's centerline gives as one that stands on it."""
    tubes = (RAIL, Tube("upright/left", UPRIGHT, ((500.0, 300.0 + beside, 100.0), (500.0, 300.0 + beside, 600.0)), (False, True)))
    for ends in chassis_frame.ENDS:
        built = chassis_frame.build(Chassis(tubes, (("rail/left", (520.0, 300.0, 100.0)),)), ends)
        assert "" not in built.owners
        there = chassis_frame.build(Chassis((RAIL, Tube("upright/left", UPRIGHT, ((500.0, 300.0, 100.0), (500.0, 300.0, 600.0)),
                                                        (False, True))), (("rail/left", (520.0, 300.0, 100.0)),)), ends)
        np.testing.assert_allclose(*(one.give for one in (built, there)), rtol=1e-3, atol=5e-6)


def test_a_tube_that_gives_hands_its_load_on():
    """Three equal springs in a row on a beam and beside it: k in series with the beam's give takes k' / (k' + 2 k) of a middle load."""
    stiff = np.diag([1e3, 1e3, 1e3])
    held = [mounts_load.Spring(f"s{y}", (0.0, y, 0.0), stiff) for y in (-100.0, 0.0, 100.0)] + [
        mounts_load.Spring("far", (500.0, 0.0, 0.0), stiff)]
    give = np.zeros((12, 12))
    give[5, 5] = 1e-3            # the middle one stands on something as soft as itself
    rigid = mounts_load.shares(held, (0.0, 0.0, -3000.0), (0.0, 0.0, 0.0))
    soft = mounts_load.shares(held, (0.0, 0.0, -3000.0), (0.0, 0.0, 0.0), give)
    np.testing.assert_allclose(rigid[:, 2], [-1000.0, -1000.0, -1000.0, 0.0], atol=1e-6)
    np.testing.assert_allclose(soft[:, 2], [-1200.0, -600.0, -1200.0, 0.0], atol=1e-6)
