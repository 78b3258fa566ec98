"""The full wear model in a general sampler (numpyro's NUTS), as a peer: run by ``bench_forecast.py``.

``python peer_nuts.py ROWS.npz DRAWS.npz`` in an environment with numpyro. The rows come scaled: friction in
units of 1 mm, distance in units of 100 000 km, so the log rate is near 0 or 1. Chains are prolonged until
every hyper-parameter and every pad set has R-hat below 1.01 and more than 400 effective draws. Compilation is
not counted, nor is anything but warm-up and sampling.
"""

from __future__ import annotations

import os
import sys
import time

os.environ["XLA_FLAGS"] = "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1"
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from jax.scipy.special import ndtr
from numpyro.diagnostics import effective_sample_size, gelman_rubin
from numpyro.infer import MCMC, NUTS, init_to_median

jax.config.update("jax_enable_x64", True)
CHAINS, WARMUP, BLOCK, MOST = 4, 500, 250, 16


def gauge_log_likelihood(data, z, scale, route):
    """Readings of every pad set in turn: a Kalman filter of the friction at the rate exp(z)."""
    rate = jnp.exp(z)
    level, variance, last = data["new"], data["u_new"] ** 2, jnp.zeros_like(z)
    total = jnp.zeros_like(z)
    for k in range(data["run"].shape[1]):
        run, value, u, there = (data[name][:, k] for name in ("run", "value", "u", "there"))
        step = jnp.where(there, run - last, 0.0)
        level, variance = level - rate * step, variance + route * rate**2 * step
        seen = there & ~jnp.isnan(value)
        spread = variance + (scale * u) ** 2
        off = jnp.where(seen, jnp.nan_to_num(value) - level, 0.0)
        total += jnp.where(seen, -0.5 * (off**2 / spread + jnp.log(2 * jnp.pi * spread)), 0.0)
        gain = jnp.where(seen, variance / spread, 0.0)
        level, variance = level + gain * off, variance * (1.0 - gain)
        last = jnp.where(there, run, last)
    return total.sum()


def interval_log_likelihood(data, z, route, misread):
    rate = jnp.exp(z)[data["i_set"]]
    spread = jnp.sqrt(data["i_u"] ** 2 + data["u_new"][data["i_set"]] ** 2 + route * rate**2 * data["i_run"])
    friction = data["new"][data["i_set"]] - rate * data["i_run"]
    inside = ndtr((data["i_high"] - friction) / spread) - ndtr((data["i_low"] - friction) / spread)
    return jnp.log((1.0 - misread) * inside + misread / 5.0).sum()


def model(data):
    """Priors as in the project: normal effects, and variances worth six nodes each."""
    effects = numpyro.sample("effects", dist.Normal(data["effect_mean"], data["effect_spread"]))
    logs = numpyro.sample("logs", dist.Normal(jnp.log(data["variance"]), 3.0).expand([3]))
    tau = jnp.exp(logs)
    worth = -3.0 * (logs + data["variance"] / tau) + 0.5 * ((logs - jnp.log(data["variance"])) / 3.0) ** 2
    numpyro.factor("worth", worth.sum())
    scale = numpyro.sample("scale", dist.LogNormal(0.0, 0.5))
    route = numpyro.sample("route", dist.LogNormal(jnp.log(data["route"]), 1.0))
    misread = numpyro.sample("misread", dist.LogNormal(jnp.log(data["misread"]), 0.5))
    # every level around the one above, the fixed effects where they differ: readings tell much of every set
    vehicle = numpyro.sample("vehicle", dist.Normal(data["vehicle_design"] @ effects, jnp.sqrt(tau[0])))
    end_mean = vehicle[data["end_vehicle"]] + data["end_design"] @ effects
    end = numpyro.sample("end", dist.Normal(end_mean, jnp.sqrt(tau[1])))
    z = numpyro.sample("z", dist.Normal(end[data["set_end"]], jnp.sqrt(tau[2])))
    numpyro.factor("gauges", gauge_log_likelihood(data, z, scale, route))
    numpyro.factor("intervals", interval_log_likelihood(data, z, route, misread))


def worst(draws):
    """Greatest R-hat and least effective number over hyper-parameters and pad sets."""
    rhat, size, name_of_least = 0.0, np.inf, ""
    for name in ("effects", "logs", "scale", "route", "misread", "z"):
        values = np.asarray(draws[name])
        rhat = max(rhat, float(np.max(gelman_rubin(values))))
        least = float(np.min(effective_sample_size(values)))
        if least < size:
            size, name_of_least = least, name
    return rhat, size, name_of_least


def main() -> None:
    with np.load(sys.argv[1]) as file:
        data = {name: jnp.asarray(file[name]) for name in file.files}
    kernel = NUTS(
        model,
        target_accept_prob=0.8,
        init_strategy=init_to_median,
        dense_mass=[("effects", "logs", "scale", "route", "misread")],
    )
    sampler = MCMC(
        kernel,
        num_warmup=WARMUP,
        num_samples=BLOCK,
        num_chains=CHAINS,
        chain_method="sequential",
        progress_bar=False,
    )
    # the first run compiles; the sampler keeps the compiled functions
    sampler.warmup(jax.random.PRNGKey(7), data)
    sampler.run(jax.random.PRNGKey(8), data)
    sampler.post_warmup_state = None
    start = time.process_time()
    sampler.warmup(jax.random.PRNGKey(0), data)
    warm = time.process_time() - start
    taken, parts = warm, []
    for block in range(MOST):
        start = time.process_time()
        sampler.post_warmup_state = sampler.last_state if block else sampler.post_warmup_state
        sampler.run(sampler.post_warmup_state.rng_key, data)
        taken += time.process_time() - start
        parts.append({k: np.asarray(v) for k, v in sampler.get_samples(group_by_chain=True).items()})
        draws = {name: np.concatenate([part[name] for part in parts], axis=1) for name in parts[0]}
        rhat, size, name = worst(draws)
        print(f"{taken:.1f} s, R-hat {rhat:.4f}, {size:.0f} effective ({name})", file=sys.stderr, flush=True)
        if rhat < 1.01 and size > 400:
            break
    np.savez(
        sys.argv[2],
        seconds=taken,
        warm=warm,
        rhat=rhat,
        effective=size,
        draws=draws["z"].shape[1] * CHAINS,
        **{
            name: draws[name].reshape(-1, *draws[name].shape[2:])
            for name in ("z", "scale", "route", "misread", "logs")
        },
    )


if __name__ == "__main__":
    main()
