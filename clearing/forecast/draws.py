"""Draw what may be: how many stems stand there, how well they die, how many come back."""

from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.forecast.cases import Cases, Kind, lay_out
from clearing.forecast.growth import SMALL
from clearing.forecast.run import Paths, run
from clearing.property import Settings
from clearing.rates import Figure, Rates

WIDTH = 1.6449  # standard normal at 95 %: low to high of a figure holds 90 %
CHUNK = 500  # draws that are worked on at once, so that they fit the cache; own choice
SURE = 1e-4  # kills stay this far from 0 and 1; own choice
MOST = 50.0  # times the middle that a ratio is capped at; own choice


@dataclass(frozen=True)
class Draws:
    """Drawn ratios against the middle.

    Attributes
    ----------
    strips : tuple of str
        Strips in order.
    years : array (years,)
        Years in order.
    density : array (draws, strips)
        Stems of the strip as a share of the middle.
    follow : array (draws, strips, years)
        Stems that the year's follow-up meets as a share of the middle path's; 1 where there is
        none.
    shared_z : array (draws,)
        Standard normal common to all work (pace).
    strip_z : array (draws, strips)
        Standard normal of each strip's own.
    seed : int
        Of all of them.
    crew, job : float
        Shares of the spread of pace that all work, and all work of a job besides, has in common.
    """

    strips: tuple[str, ...]
    years: np.ndarray
    density: np.ndarray
    follow: np.ndarray
    shared_z: np.ndarray
    strip_z: np.ndarray
    seed: int = 1
    crew: float = 0.5
    job: float = 0.3

    def of_job(self, job: str) -> np.ndarray:
        """Return standard normals common to all work of one job (pace) (draws,)."""
        return _normal(self.seed, "job", job, len(self.shared_z))


def plain_draws(strip_ids: tuple[str, ...], years: np.ndarray, draws: int, seed: int) -> Draws:
    """Return draws in which as many stems stand and come back as the middle says.

    References
    ----------
    own reasoning
    """
    strips = tuple(strip_ids)
    own = [_normal(seed, "strip", name, draws) for name in strips]
    return Draws(
        strips=strips,
        years=np.asarray(years, dtype=int),
        density=np.ones((draws, len(strips)), dtype=np.float32),
        follow=np.ones((draws, len(strips), len(years)), dtype=np.float32),
        shared_z=_normal(seed, "pace", "", draws),
        seed=seed,
        strip_z=np.stack(own, axis=1) if own else np.zeros((draws, 0), dtype=np.float32),
    )


def draw_ahead(
    chosen: pd.DataFrame,
    methods: pd.DataFrame,
    strips: gpd.GeoDataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    settings: Settings,
    draws: int = 2000,
) -> Draws:
    """Return seeded draws of the stems that first treatments and follow-ups of a plan meet.

    Density: log-normal on either side of the middle, low to high of ``methods`` holding 90 %; a
    block's strips share most of it. Kill of the first treatment and of follow-ups: logit-normal
    on either side, shared by all strips of one kind of method (follow-ups: by all) and species.
    Seedlings a seed and suckers a stem: log-normal, shared by species. Each is drawn by the name
    of what it is of, so a strip's numbers do not hang on the others.

    What a follow-up meets is split along the middle path in three: what came back of the treated,
    the year's seedlings, and older ones that follow-ups missed. Each part goes with its own draws:
    exact while ground is uncrowded, but for seed of what came back.

    The work of each year is held to that of the middle path: draws in which more comes back do not
    add years of follow-up, nor do good ones save any, so the risk of a longer follow-up is not in.

    Parameters
    ----------
    chosen : DataFrame
        strip_id, method_id, start_year (missing for not_now): one case a strip.
    methods : DataFrame
        As ``walk/methods``.
    strips, blocks : GeoDataFrame
        As ``walk/strips`` and ``walk/blocks``.
    rates : Rates
        Handbook figures.
    settings : Settings
        Years, seed.
    draws : int
        How many.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    cases = lay_out(methods, (strips, blocks), rates, settings, chosen)
    names = tuple(cases.frame["strip_id"].astype(str))
    ahead = cases.years[: settings.years]
    plain = plain_draws(names, ahead, draws, settings.seed)
    if not names:
        return plain
    density = _density(cases, methods, rates, settings.seed, draws)
    parts = _parts(cases, rates, settings)
    idle = 1.0 - np.minimum(sum(part.sum(axis=0) for part in parts.values()), 1.0)
    follow = np.empty((draws, len(names), len(ahead)), dtype=np.float32)
    shared = {name: _of_species(name, rates, settings.seed, draws) for name in cases.kinds}
    killed = {
        (name, method): _normal(settings.seed, "kill", f"{name}:{method}", draws)
        for name in cases.kinds for method in set(cases.frame["method"])
    }  # fmt: skip
    for start in range(0, draws, CHUNK):
        own = slice(start, min(start + CHUNK, draws))
        total = np.zeros((own.stop - start, len(names), len(ahead)), dtype=np.float32)
        for name, kind in cases.kinds.items():
            z = np.stack([killed[name, each][own] for each in cases.frame["method"]], axis=1)
            ratios = Ratios(
                density[own], _survivors(kind, z), shared[name].missed(kind, own),
                shared[name].seedlings[own], shared[name].suckers[own],
            )  # fmt: skip
            total += _met(parts[name], ratios, cases)
        follow[own] = total + idle
    crew, job = (rates.figure("any", f"{each}_common").value for each in ("crew", "job"))
    follow = np.minimum(follow, MOST)
    return replace(plain, density=density, follow=follow, crew=crew, job=min(job, 1.0 - crew))


@dataclass(frozen=True)
class Ratios:
    """Drawn ratios of one species: (draws, strips), those of seedlings and suckers (draws,)."""

    density: np.ndarray
    survivors: np.ndarray
    missed: np.ndarray
    seedlings: np.ndarray
    suckers: np.ndarray


@dataclass(frozen=True)
class Shared:
    """What all strips share of one species: z of the follow-ups' kill, ratios (draws,)."""

    follow_z: np.ndarray
    seedlings: np.ndarray
    suckers: np.ndarray

    def missed(self, kind: Kind, own: slice) -> np.ndarray:
        """Return what a follow-up leaves as a ratio to the middle (draws, strips)."""
        middle, high, low = _whole_way(kind.follow_kill, kind.way)
        return _left(self.follow_z[own][:, None], middle, low, high)


def _of_species(name: str, rates: Rates, seed: int, draws: int) -> Shared:
    """Return what the strips share of one species."""

    def ratio(item: str) -> np.ndarray:
        return _two_sided(_normal(seed, item, name, draws), rates.figure(name, item))

    return Shared(
        _normal(seed, "follow_kill", name, draws), ratio("seed_to_seedling"),
        ratio("suckers_per_stem"),
    )  # fmt: skip


def _normal(seed: int, what: str, name: str, draws: int) -> np.ndarray:
    """Return standard normals that hang on the seed and on what and whose they are."""
    key = np.random.SeedSequence([seed, *f"{what}:{name}".encode()])
    return np.random.default_rng(key).standard_normal(draws, dtype=np.float32)


def _two_sided(z: np.ndarray, figure: Figure) -> np.ndarray:
    """Return ratios to the middle with low and high at 5 and 95 percent."""
    if not figure.value > 0:
        return np.ones_like(z)
    least = figure.value / MOST
    up = np.log(max(figure.high, figure.value) / figure.value) / WIDTH
    down = np.log(figure.value / max(min(figure.low, figure.value), least)) / WIDTH
    return np.exp(np.where(z > 0, np.float32(up), np.float32(down)) * z)


def _density(
    cases: Cases, methods: pd.DataFrame, rates: Rates, seed: int, draws: int
) -> np.ndarray:
    """Return stems of each strip as a share of the middle (draws, strips)."""
    frame, common = cases.frame, rates.figure("any", "count_shared_by_block").value
    sums = methods.groupby(["strip_id", "method_id"])[["stems", "stems_low", "stems_high"]].sum()
    sums = sums.reindex(pd.MultiIndex.from_frame(frame[["strip_id", "method_id"]]))
    out = np.empty((draws, len(frame)), dtype=np.float32)
    for at, (strip, block, row) in enumerate(
        zip(frame["strip_id"], frame["block_id"], sums.to_numpy(dtype=float), strict=True)
    ):
        z = np.sqrt(common) * _normal(seed, "block", str(block), draws)
        z = z + np.sqrt(1.0 - common) * _normal(seed, "count", str(strip), draws)
        middle, low, high = row
        out[:, at] = _two_sided(z.astype(np.float32), Figure(middle, low, high, "", "", "", ""))
    return out


def _left(z: np.ndarray, middle: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Return (1 - drawn kill) / (1 - middle kill); a good draw of z > 0 kills more."""
    k, k_low, k_high = (np.clip(each, SURE, 1.0 - SURE) for each in (middle, low, high))
    at, down, up = (np.log(each / (1.0 - each)) for each in (k, k_low, k_high))
    up, down = ((each / WIDTH).astype(np.float32) for each in (up - at, at - down))
    drawn = at.astype(np.float32) + np.where(z > 0, up, down) * z
    return (1.0 / (1.0 + np.exp(drawn))) / (1.0 - k).astype(np.float32)


def _whole_way(kills: np.ndarray, way: float) -> np.ndarray:
    """Return the kills of the scenarios (middle, good, poor) at the ends of their ranges."""
    return kills[0] + (kills - kills[0]) / way


def _survivors(kind: Kind, z: np.ndarray) -> np.ndarray:
    """Return what the first treatment leaves alive as a ratio to the middle (draws, strips)."""
    weight = kind.stems[0] * kind.touched + SURE * kind.touched
    total = weight.sum(axis=1)
    reached = np.where(kind.touched > 0, kind.touched, 1.0)
    found = np.stack([(weight * each / reached).sum(axis=1) / total for each in kind.kill])
    middle, high, low = _whole_way(found, kind.way)
    return _left(z, middle, low, high)


def _parts(cases: Cases, rates: Rates, settings: Settings) -> dict[str, np.ndarray]:
    """Return the parts of what each follow-up meets (4, strips, years), as shares of all species'.

    Clumps and stems of them, root suckers, the year's seedlings, older ones. They come of runs
    without survivors, without suckers, and with follow-ups that miss nothing.
    """
    paths = run(cases, rates, settings)

    def again(change: dict[str, Kind]) -> dict[str, np.ndarray]:
        return _small(run(replace(cases, kinds=change), rates, settings, work=paths.work), settings)

    dry = {name: _without_suckers(kind) for name, kind in cases.kinds.items()}
    dead = {
        name: replace(kind, kill=np.broadcast_to(kind.touched, kind.kill.shape))
        for name, kind in cases.kinds.items()
    }
    clean = {
        name: replace(kind, follow_kill=np.ones_like(kind.follow_kill))
        for name, kind in dead.items()
    }
    whole, stumps, seeds, fresh = _small(paths, settings), again(dry), again(dead), again(clean)
    late = np.isin(paths.work[: settings.years], ["follow_up", "upkeep"]).T
    met = np.maximum(sum(whole.values()), 1e-12)
    out = {}
    for name in cases.kinds:
        parts = [stumps[name] - seeds[name], whole[name] - stumps[name], fresh[name],
                 seeds[name] - fresh[name]]  # fmt: skip
        found = np.where(late, np.maximum(np.stack(parts), 0.0) / met, 0.0)
        out[name] = found.astype(np.float32)
    return out


def _without_suckers(kind: Kind) -> Kind:
    """Return a species whose treated stems send up no suckers."""
    vital = tuple(replace(each, suckers_per_stem=0.0) for each in kind.vital)
    return replace(kind, vital=vital)


def _small(paths: Paths, settings: Settings) -> dict[str, np.ndarray]:
    """Return the middle path's stems that a follow-up is there for (strips, years) by species."""
    return {
        name: stems[: settings.years, 0][..., list(SMALL)].sum(axis=2).T
        for name, stems in paths.stems.items()
    }


def _met(parts: np.ndarray, ratios: Ratios, cases: Cases) -> np.ndarray:
    """Return what follow-ups meet of one species, as a share of all species' middle."""
    stumps, suckers, fresh, older = parts
    begun = cases.years[: stumps.shape[1]][None, :] - cases.start[:, None] - 1.0
    begun = np.nan_to_num(begun, nan=0.0).clip(min=0.0)
    out = np.zeros((len(ratios.density), *stumps.shape), dtype=np.float32)
    back = ratios.density * ratios.survivors
    seeded = ratios.density * ratios.seedlings[:, None]
    from_roots = ratios.suckers[:, None]
    power = np.ones((*ratios.missed.shape, int(begun.max()) + 2), dtype=np.float32)
    for times in range(1, power.shape[2]):
        power[..., times] = power[..., times - 1] * ratios.missed
    strips = np.arange(len(stumps))
    for year in range(stumps.shape[1]):
        times = begun[:, year].astype(int)
        gone = power[:, strips, times]
        came = back * gone
        out[..., year] = came * (stumps[:, year] + from_roots * suckers[:, year]) + seeded * (
            fresh[:, year] + ratios.missed * older[:, year]
        )
    return out
