"""Labels of a sketch's dimensions: none over another, whatever the car."""
import itertools
import random

from crankline.features.sketch_labels import LINE, Label, offsets


def test_no_label_covers_another():
    rng = random.Random(20261129)
    for _ in range(50):
        labels = [Label(number, rng.random() < 0.5, (rng.uniform(-900.0, 3000.0), rng.uniform(-400.0, 900.0)), rng.randint(4, 12))
                  for number in range(rng.randint(1, 25))]
        found = offsets(labels)
        assert found.keys() == {one.number for one in labels}
        for one, other in itertools.combinations(labels, 2):
            assert not one.box(found[one.number]).meets(other.box(found[other.number])), (one, other)
        # What goes along the car is below everything, the shortest on top.
        across = sorted((one for one in labels if one.across), key=lambda one: abs(one.at[0]))
        tops = [one.box(found[one.number]).high for one in across]
        assert tops == sorted(tops, reverse=True) and all(top <= min(one.at[1] for one in across) for top in tops)
        assert all(high - low >= LINE - 1e-6 for low, high in zip(tops[1:], tops))
