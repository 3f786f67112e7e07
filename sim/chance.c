/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/inside.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* splitmix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014. */
uint64_t sim_bits(sim_chance *chance)
{
    uint64_t z = (chance->state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

double sim_uniform(sim_chance *chance)
{
    return (double)(sim_bits(chance) >> 11) * 0x1p-53;
}

double sim_gaussian(sim_chance *chance)
{
    double u = 1 - sim_uniform(chance), v = sim_uniform(chance);
    return sqrt(-2 * log(u)) * cos(2 * M_PI * v);
}

sim_chance sim_stream(uint64_t seed, uint64_t purpose)
{
    sim_chance chance = {seed * 0x2545f4914f6cdd1du + purpose};
    sim_bits(&chance);
    chance.state = sim_bits(&chance);
    return chance;
}

void sim_quantiles(float table[SIM_QUANTILES])
{
    double squares = 0;
    for (size_t i = 0; i < SIM_QUANTILES; i++) {
        double q = gsl_cdf_ugaussian_Pinv(((double)i + 0.5) / SIM_QUANTILES);
        squares += q * q;
        table[i] = (float)q;
    }
    double scale = sqrt(SIM_QUANTILES / (2 * squares));
    for (size_t i = 0; i < SIM_QUANTILES; i++)
        table[i] = (float)(table[i] * scale);
}
