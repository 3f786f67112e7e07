/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate_clock.h"

#include <math.h>

static const double resonator_relative = 0.005; /* rectangular half-width, data-sheet order of a ceramic resonator */
static const double host_relative = 50e-6;      /* rectangular half-width of an undisciplined crystal */
static const double shortest_s = 5;
enum { FEWEST_BEATS = 8 };

void cw_gate_clock_beat(cw_gate_clock *clock, double gate_s, double host_s)
{
    if (clock->count == 0)
        clock->first_x = gate_s;
    clock->last_x = gate_s;
    clock->count++;
    double n = (double)clock->count, dx = gate_s - clock->mean_x, dy = host_s - clock->mean_y;
    clock->mean_x += dx / n;
    clock->mean_y += dy / n;
    clock->sxx += dx * (gate_s - clock->mean_x);
    clock->sxy += dx * (host_s - clock->mean_y);
    clock->syy += dy * (host_s - clock->mean_y);
}

cw_quantity cw_gate_clock_rate(const cw_gate_clock *clock)
{
    if (clock->count < FEWEST_BEATS || clock->last_x - clock->first_x < shortest_s)
        return (cw_quantity){1, resonator_relative / sqrt(3)};
    double slope = clock->sxy / clock->sxx;
    double residual = fmax(clock->syy - slope * clock->sxy, 0) / (double)(clock->count - 2);
    double u_fit = sqrt(residual / clock->sxx), u_host = host_relative / sqrt(3);
    return (cw_quantity){slope, sqrt(u_fit * u_fit + u_host * u_host)};
}
