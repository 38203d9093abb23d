"""Simulates the table of src/world/rf/fading/field_table.rs; `python field_table.py > field_table.txt` (numpy, scipy).

A level is |sqrt(K) e^{j w t} + d(t)|^2 with d complex normal of Clarke's spectrum, made by an inverse FFT whose bins are
integrated exactly. The level that three quarters of each field exceed is read off its sorted instants; the share of fields below
a threshold is the probability that a field is lost. Printed: score of that probability, in thousandths, by periods in a
field, shift, K and score of the outage. About 25 minutes on one core.
"""
import numpy as np
from scipy.stats import ncx2, norm

SCORES = np.arange(-4.25, 3.01, 0.25)
FACTORS = [np.inf, 8, 4, 2, 1, 0.5, 0]
PERIODS = [0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8, 12, 16]
SHIFTS = [0, 0.5, 0.75, 1]
LEAST = 40  # fields lost, or kept, for a number to count
random = np.random.default_rng(7)


def scatter(count, doppler):
    """Complex normal, mean power 1; `doppler` in turns per instant."""
    at, half = np.fft.fftfreq(count), 0.5 / count
    low, high = np.clip((at - half) / doppler, -1, 1), np.clip((at + half) / doppler, -1, 1)
    power = (np.arcsin(high) - np.arcsin(low)) / np.pi
    drawn = random.standard_normal(count) + 1j * random.standard_normal(count)
    return np.fft.ifft(drawn * np.sqrt(power / 2)) * count


def thresholds(factor):
    outage = norm.cdf(SCORES)
    if np.isinf(factor):
        return SCORES
    return -np.log1p(-outage) if factor == 0 else ncx2.ppf(outage, 2, 2 * factor) / 2


def straightened(lost, fields):
    """Scores, with straight lines where there are too few fields to tell."""
    with np.errstate(all="ignore"):
        score = norm.ppf(lost)
    known = np.where((lost * fields >= LEAST) & ((1 - lost) * fields >= LEAST))[0]
    low, high = known[0], known[-1]
    width = min(4, high - low)
    slope = max((score[low + w] - score[low]) / (SCORES[low + w] - SCORES[low]) for w in (width, 2))
    above = (score[high] - score[high - width]) / (SCORES[high] - SCORES[high - width])
    score[:low] = score[low] + slope * (SCORES[:low] - SCORES[low])
    score[high + 1 :] = score[high] + above * (SCORES[high + 1 :] - SCORES[high])
    return np.clip(score, -32, 32)


def main():
    count = 1 << 20
    for periods in PERIODS:
        instants, rounds = (64, 24) if periods <= 4 else (128, 48)
        lost = np.zeros((len(SHIFTS), len(FACTORS), len(SCORES)))
        for _ in range(rounds):
            drawn = scatter(count, periods / instants)
            for row, shift in enumerate(SHIFTS):
                wave = np.exp(2j * np.pi * (shift * periods / instants * np.arange(count) % 1))
                for column, factor in enumerate(FACTORS):
                    steady = np.isinf(factor)
                    level = (drawn * wave.conj()).real * np.sqrt(2) if steady else np.abs(np.sqrt(factor) * wave + drawn) ** 2
                    quarter = instants // 4
                    sorted_ = np.partition(level.reshape(-1, instants), [quarter - 1, quarter], axis=1)
                    margins = np.sort(0.5 * (sorted_[:, quarter - 1] + sorted_[:, quarter]))
                    lost[row, column] += np.searchsorted(margins, thresholds(factor))
        fields = rounds * (count // instants)
        for row, shift in enumerate(SHIFTS):
            print(f"    // {periods} periods, shift {shift}")
            for column in range(len(FACTORS)):
                scores = straightened(lost[row, column] / fields, fields)
                print("    " + " ".join(f"{int(round(score * 1000))}," for score in scores))


if __name__ == "__main__":
    main()
