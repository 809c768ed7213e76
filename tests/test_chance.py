"""Chance: Philox against NumPy's, addresses, and the inverse normal distribution."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtri

from sim.chance import (
    LARGEST_SEED,
    checked_seed,
    fresh_seed,
    normals,
    philox,
    uniforms,
    unit,
)
from sim.errors import InputError

WORD = 2**64


def numpy_philox(counter: list[int], key: list[int]) -> list[int]:
    """NumPy's numbers of a counter; it counts up before it generates, so start one below."""
    number = sum(word << (64 * place) for place, word in enumerate(counter))
    before = (number - 1) % 2**256
    words = [(before >> (64 * place)) % WORD for place in range(4)]
    generator = np.random.Philox(counter=np.array(words, np.uint64), key=np.array(key, np.uint64))
    return [int(n) for n in generator.random_raw(4)]


def own_philox(counter: list[int], key: list[int]) -> list[int]:
    return [int(n) for n in philox(*(np.uint64(word) for word in counter + key))]


def random_words(rng: np.random.Generator, count: int) -> list[int]:
    return [int(w) for w in rng.integers(0, WORD, count, dtype=np.uint64, endpoint=False)]


def test_philox_has_the_bits_of_numpy() -> None:
    rng = np.random.default_rng(5)
    for _ in range(200):
        counter, key = random_words(rng, 4), random_words(rng, 2)
        assert own_philox(counter, key) == numpy_philox(counter, key)


@pytest.mark.parametrize("word", [0, 1, WORD - 1])
def test_philox_at_the_ends(word: int) -> None:
    assert own_philox([word] * 4, [word] * 2) == numpy_philox([word] * 4, [word] * 2)


def test_address_is_seed_replicate_purpose_stroke_and_index() -> None:
    """Number i of a row is lane i % 4 of the counter (i // 4, stroke, purpose, replicate)."""
    seed, purpose, stroke = 987654321, 2, 17
    replicates = np.array([0, 3, 2**40])
    drawn = uniforms(seed, replicates, purpose, stroke, 10)
    for row, replicate in enumerate(replicates):
        for index in range(10):
            counter = [index // 4, stroke, purpose, int(replicate)]
            raw = numpy_philox(counter, [seed, 0])[index % 4]
            assert drawn[row, index] == ((raw >> 12) + 0.5) / 2**52


def test_number_is_the_same_in_any_batch_order_and_count() -> None:
    replicates = np.arange(50)
    whole = uniforms(7, replicates, 1, 3, 9)
    shuffled = np.random.default_rng(0).permutation(50)
    np.testing.assert_array_equal(uniforms(7, replicates[shuffled], 1, 3, 9), whole[shuffled])
    np.testing.assert_array_equal(uniforms(7, replicates[20:21], 1, 3, 9), whole[20:21])
    np.testing.assert_array_equal(uniforms(7, replicates, 1, 3, 2), whole[:, :2])


def test_every_part_of_the_address_matters() -> None:
    base = uniforms(7, np.array([5]), 1, 3, 8)
    others = [
        uniforms(8, np.array([5]), 1, 3, 8),
        uniforms(7, np.array([6]), 1, 3, 8),
        uniforms(7, np.array([5]), 2, 3, 8),
        uniforms(7, np.array([5]), 1, 4, 8),
    ]
    everything = np.concatenate([base, *others]).ravel()
    assert len(np.unique(everything)) == everything.size


def test_unit_lies_strictly_between_zero_and_one() -> None:
    assert unit(np.uint64(0)) == 2.0**-53
    assert unit(np.uint64(WORD - 1)) == 1 - 2.0**-53
    assert np.isfinite(normals(np.array([2.0**-53, 1 - 2.0**-53]))).all()


def test_uniforms_are_uniform() -> None:
    """Kolmogorov and Smirnov's test of 40,000 numbers; a false alarm once in 1,000 seeds."""
    drawn = uniforms(20250101, np.arange(10_000), 1, 0, 4).ravel()
    assert stats.kstest(drawn, "uniform").pvalue > 0.001


def test_normals_follow_the_inverse_distribution_far_into_the_tails() -> None:
    """Against scipy.special.ndtri; the two agree to 1e-13 of the value."""
    tail = np.logspace(-300, -1, 600)
    centre = np.linspace(0.001, 0.999, 1999)
    u = np.concatenate([tail, centre, [0.075, 0.925, 0.5 - 1e-9, 0.5 + 1e-9], [2.0**-53]])
    np.testing.assert_allclose(normals(u), ndtri(u), rtol=1e-13, atol=1e-16)
    near_one = 1 - 2.0 ** -np.arange(4.0, 54.0)
    np.testing.assert_allclose(normals(near_one), -ndtri(1 - near_one), rtol=1e-13)


def test_normals_keep_the_shape_and_are_odd() -> None:
    u = np.array([[0.1, 0.25], [0.75, 0.9]])
    assert normals(u).shape == (2, 2)
    np.testing.assert_allclose(normals(u), -normals(u)[::-1, ::-1], rtol=1e-14)
    assert normals(np.array([0.5]))[0] == 0.0


def test_fresh_seed_can_be_typed_and_used() -> None:
    made = {fresh_seed() for _ in range(20)}
    assert len(made) > 1
    assert all(0 <= checked_seed(seed) < 2**32 for seed in made)


@pytest.mark.parametrize("seed", [-1, 2**63])
def test_impossible_seed_is_refused(seed: int) -> None:
    assert checked_seed(LARGEST_SEED) == LARGEST_SEED
    with pytest.raises(InputError) as refusal:
        checked_seed(seed)
    assert f"seed is {seed}" in str(refusal.value)
    assert f"from 0 to {LARGEST_SEED}" in str(refusal.value)
