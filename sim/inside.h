/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the simulator's files share and nobody else needs. */
#ifndef CW_SIM_INSIDE_H
#define CW_SIM_INSIDE_H

#include "sim/sim.h"

/* --- chance.c: reproducible randomness (splitmix64) --- */
typedef struct {
    uint64_t state;
} sim_chance;

uint64_t sim_bits(sim_chance *chance);
double sim_uniform(sim_chance *chance); /* [0, 1) */
double sim_gaussian(sim_chance *chance);
/* An independent stream for one purpose, so that adding noise does not move the shots. */
sim_chance sim_stream(uint64_t seed, uint64_t purpose);

/* Many normal numbers quickly: the sum of two draws from a table of quantiles. */
enum { SIM_QUANTILES = 16384 };
void sim_quantiles(float table[SIM_QUANTILES]); /* scaled so that the sum of two has sd 1 */

/* --- curtain.c: the way of one curtain --- */
typedef struct {
    double step_s, stop_mm;
    size_t count;
    double *x_mm, *v_mm_s; /* at multiples of step_s after the release; after the last it stands at the stop */
} sim_path;

cw_status sim_path_new(const cw_sim_curtain *curtain, double frame_mm, const char *which, sim_path *path, cw_error *err)
    __attribute__((warn_unused_result));
void sim_path_free(sim_path *path);
double sim_path_at(const sim_path *path, double t_s);
/* When the edge first passes x_mm. x must lie between rest and stop. */
double sim_path_passes(const sim_path *path, double x_mm);
/* All times at which the edge passes x_mm either way; gives their number, at most `most`. */
size_t sim_path_crossings(const sim_path *path, double x_mm, size_t most, double *times_s);

/* --- blades.c: how much of a beam an opening of factor s lets through --- */
enum { SIM_COVER_STEPS = 2048 };
typedef struct {
    double fraction[SIM_COVER_STEPS + 1]; /* at s = i / SIM_COVER_STEPS */
} sim_cover;

cw_status sim_cover_beam(const cw_sim_leaf *leaf, double position_mm, double width_mm, double penumbra_mm,
                         sim_cover *cover, cw_error *err) __attribute__((warn_unused_result));
void sim_cover_whole(const cw_sim_leaf *leaf, sim_cover *cover);
double sim_cover_at(const sim_cover *cover, double s);

/* Blade factor s at t after the start of opening, closing started at interval_s. Bounces included. */
double sim_blades_at(const cw_sim_leaf *leaf, double interval_s, double t_s);
/* Interval that gives effective_s over the whole aperture with the blades' set times; never below least_interval_s. */
double sim_blades_interval(const cw_sim_leaf *leaf, const sim_cover *whole, double effective_s);
/* Times after the start of opening where the motion has a corner, ascending. At most SIM_BREAKS_MOST. */
size_t sim_blades_breaks(const cw_sim_leaf *leaf, double interval_s, double *times_s);

/* --- shot.c --- */
enum { SIM_BREAKS_MOST = 64 };

typedef struct {
    size_t break_count;
    double breaks_s[SIM_BREAKS_MOST]; /* corners of the light, ascending; no light before the first or after the last */
    bool constant[SIM_BREAKS_MOST];   /* the light does not change between this break and the next */
} sim_lit;

typedef struct {
    cw_sim_shot_truth truth;
    double release1_s, release2_s, pace1, pace2; /* focal plane: path time = (t - release) * pace */
    sim_lit *lit;                                /* one a sensor */
    double from_s, to_s;                         /* any light or contact change at all */
} sim_shot;

typedef struct sim_render sim_render;

struct cw_sim {
    cw_sim_scenario scenario;
    sim_path path1, path2;
    sim_cover *cover; /* leaf: one a sensor */
    sim_cover whole;
    size_t shot_count;
    sim_shot *shots;
    double length_s;
    sim_render *render;
};

double sim_shot_light(const cw_sim *sim, const sim_shot *shot, size_t sensor, double t_s);
/* Fraction of the beam behind an edge that has passed its centre by z_mm. */
double sim_beam_fraction(const cw_sim_beam *beam, double z_mm);
/* Integral of the light between two instants close together, with no corner between them. */
double sim_light_integral(const cw_sim *sim, const sim_shot *shot, size_t sensor, double from_s, double to_s);
void sim_shot_truth_fill(const cw_sim *sim, sim_shot *shot);

/* --- check.c --- */
cw_status sim_scenario_check(const cw_sim_scenario *scenario, cw_error *err) __attribute__((warn_unused_result));

/* --- detector.c --- */
cw_status sim_render_new(cw_sim *sim, cw_error *err) __attribute__((warn_unused_result));
void sim_render_free(sim_render *render);

/* A sensor's share of full_v. */
double sim_gain(const cw_sim_scenario *scenario, size_t sensor);

/* --- truth.c --- */
cw_status sim_write_json(json_t *object, const char *path, cw_error *err) __attribute__((warn_unused_result));
cw_status sim_beside(const char *path, const char *ending, char *out, size_t size, cw_error *err)
    __attribute__((warn_unused_result));

#endif
