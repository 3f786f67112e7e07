/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shutters and detectors with known truth: curtains and blades as mechanics, the light they let through a beam of
 * finite width, the detector and recorder behind it, and beside all of it what really happened. Written from the
 * mechanics alone; it shares no code with the analysis, so that a test is not a mirror.
 *
 *   cw_sim_scenario scenario;
 *   cw_sim_focal_plane(&scenario);                       a healthy focal-plane camera, four speeds, three sensors
 *   scenario.focal.second.acceleration_m_s2 *= 0.8;      ... with a slack second curtain
 *   assert_ok(cw_sim_new(&scenario, &sim, &err), &err);
 *   cw_sim_write_wav(sim, "shots.wav", &err);            or cw_sim_read for samples in memory, or CSV, VCD, edges
 *   cw_sim_truth(sim, 0)->sensors[1].exposure_s          what the first shot really was at the second sensor
 *
 * Times are true seconds from the first sample; the recorder's clock error is in the samples, not in the truth. */
#ifndef CW_SIM_SIM_H
#define CW_SIM_SIM_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum {
    CW_SIM_SENSORS_MOST = 4,
    CW_SIM_SPEEDS_MOST = 24,
    CW_SIM_SHOTS_MOST = 4096,
    CW_SIM_BOUNCES_MOST = 8,
    CW_SIM_PROFILE = 25, /* places across the frame in the truth, both edges included */
    CW_SIM_CONTACT_EDGES_MOST = 18
};

/* --- The mechanics ------------------------------------------------------------------------------------------------ */

/* A curtain (or the edge of a blade packet). It rests start_mm before the frame and moves by
 *   x'' = A (1 - relaxation (x + start)/(frame + start)) - drag x' - friction (from friction_from_mm on, against x')
 * until it meets its stop overrun_mm behind the frame, where it rebounds with `restitution` times its speed. */
typedef struct {
    double start_mm;          /* > 0 */
    double acceleration_m_s2; /* A, of spring and roller at rest; > 0 */
    double relaxation;        /* part of the drive lost over the travel, 0 to 0.9: the spring runs down */
    double drag_per_s;        /* viscous, >= 0 */
    double friction_m_s2;     /* extra dry friction, >= 0: a dirty or bent rail */
    double friction_from_mm;  /* where it begins, mm from the frame edge that opens first */
    double overrun_mm;        /* > 0 */
    double restitution;       /* 0 (a good brake) to 0.9 */
} cw_sim_curtain;

typedef struct {
    double frame_mm; /* along the travel */
    cw_sim_curtain first, second;
    double delay_offset_s; /* added to every release delay: a timing fault common to all speeds */
    double delay_jitter_s; /* sd from shot to shot */
    double tension_jitter; /* relative sd of the speed of each curtain from shot to shot */
    double contact_at_mm;  /* the contact closes when the first curtain's edge passes here */
} cw_sim_focal;

/* Blades of a leaf shutter. The opening keeps its shape and grows by a factor s, 0 closed to 1 fully open:
 * s = (t/opening_s)^law while opening, 1 - (t/closing_s)^law while closing. blades = 0: a circle. Otherwise a star of
 * that many points whose inner corners lie at s times the full radius and whose tips lie `star` times as far out as
 * those of the regular polygon (star = 1: that polygon); the round full aperture cuts the tips off. */
typedef struct {
    unsigned blades;
    double star;
    double aperture_mm; /* diameter of the full opening */
    double opening_s, closing_s, law;
    /* The interval between the start of opening and the start of closing is set for blades that take these times, so
     * that such a shutter gives the marked effective exposure over the whole aperture. 0: the actual times. */
    double set_opening_s, set_closing_s;
    double least_interval_s;  /* no mechanism can turn round faster: limits the fast speeds */
    double interval_jitter;   /* relative sd from shot to shot */
    double governed_from_s;   /* marks from here on are timed by the governor */
    double governor_error_ev; /* on those: a dirty governor is slow (plus) */
    double governor_drift_ev; /* more with each shot of the recording */
    unsigned bounces;         /* after closing, each opening to bounce_fraction, then half of it, ... */
    double bounce_fraction;   /* s at the peak of the first bounce */
    double bounce_delay_s, bounce_s;
    double contact_fraction; /* the contact closes when s passes this on the way up */
} cw_sim_leaf;

typedef enum { CW_SIM_FOCAL_PLANE, CW_SIM_LEAF } cw_sim_kind;

/* --- Light, detector, recorder ------------------------------------------------------------------------------------ */

/* The beam at each sensor. Focal plane: a slit of width_mm across the travel (or a disc of that diameter), blurred by a
 * uniform penumbra; position from the edge that opens first. Leaf: a disc of width_mm at position_mm from the axis, or,
 * `diffuse`, the light of the whole aperture. */
typedef struct {
    size_t sensors; /* 1 to CW_SIM_SENSORS_MOST */
    double position_mm[CW_SIM_SENSORS_MOST];
    double width_mm, penumbra_mm;
    bool round, diffuse;
    double flicker;  /* depth of the lamp's brightness, 0 to 1, at twice mains_hz */
    double mains_hz; /* 50 or 60 */
} cw_sim_beam;

/* From light to volts, in this order: lamp flicker, one-pole lag, saturation, full_v, dark_v and drift, hum, polarity,
 * AC coupling, noise. */
typedef struct {
    double lag_s;
    double saturation; /* highest signal as a fraction of the full level; 0: none */
    double full_v;     /* full light above dark */
    double dark_v, drift_v_per_s;
    double hum_v; /* amplitude at mains_hz; the third harmonic is a fifth of it */
    bool inverted;
    double ac_tau_s;   /* 0: DC coupled */
    double noise_v;    /* white, rms per sample (edges: per 1 us step) */
    double pink_v;     /* 1/f, rms over about 14 octaves below the sample rate */
    double spread;     /* relative gain steps between sensors: sensor i has 1 + spread (i - mean i) */
    double threshold;  /* edges: fraction of the full level */
    double hysteresis; /* edges: distance of the two thresholds, fraction of the full level */
} cw_sim_detector;

typedef struct {
    double rate_hz;
    double clock_ppm;    /* plus: it samples too fast, so its seconds are too many */
    double full_scale_v; /* +-; beyond it clips */
    unsigned bits;       /* 0: floating point; 8 to 24 */
    bool anti_alias;     /* a linear-phase filter below half the rate, rings before and after as sound cards do */
} cw_sim_recorder;

typedef struct {
    bool present;     /* a further channel after the sensors: 0 V open, full_v closed */
    double delay_s;   /* after the mechanical event */
    double jitter_s;  /* sd */
    unsigned bounces; /* 0 to 8 openings of the closing contact */
    double bounce_s;  /* within this time */
    double hold_s;    /* it stays closed for so long */
} cw_sim_contact;

typedef struct {
    double marked_s;
    size_t shots;
    double error_ev; /* the mechanism is set wrong by this at this speed */
} cw_sim_speed;

typedef struct {
    char name[80];
    cw_sim_kind kind;
    uint64_t seed;
    cw_sim_focal focal;
    cw_sim_leaf leaf;
    cw_sim_beam beam;
    cw_sim_detector detector;
    cw_sim_recorder recorder;
    cw_sim_contact contact;
    double lead_s, pause_s; /* dark time before the first shot, and after each */
    size_t speed_count;
    cw_sim_speed speeds[CW_SIM_SPEEDS_MOST]; /* in the order fired */
} cw_sim_scenario;

/* Healthy, quiet, DC-coupled starting points: 24x36 mm cloth curtains of 14 ms with sensors at 4, 18, 32 mm; a
 * five-blade leaf shutter of 1.5 ms seen by diffuse light; 24x36 mm metal blades running the short way in 3 ms. */
void cw_sim_focal_plane(cw_sim_scenario *scenario);
void cw_sim_leaf_shutter(cw_sim_scenario *scenario);
void cw_sim_metal_blades(cw_sim_scenario *scenario);

/* The acceleration that takes an undragged curtain across the frame in travel_s: 2 (sqrt(F + x0) - sqrt(x0))^2 / t^2.
 */
double cw_sim_acceleration(double travel_s, double frame_mm, double start_mm);

/* --- Running it --------------------------------------------------------------------------------------------------- */

typedef struct {
    double at_s, exposure_s; /* first light of it, and what it adds as full-open time */
} cw_sim_bounce;

typedef struct {
    double position_mm;
    double open_s, close_s;             /* half of the full light on the way up, and down; NaN: never reached */
    double exposure_s;                  /* integral of light over full light, without bounces */
    double first_light_s, last_light_s; /* without bounces; NaN: stayed dark. ISO 516 total time = their difference */
    double peak;                        /* highest light, 1 = full */
    size_t bounce_count;
    cw_sim_bounce bounces[CW_SIM_BOUNCES_MOST];
} cw_sim_sensor_truth;

typedef struct {
    double marked_s;
    double start_s; /* release of the first curtain, or start of opening */
    double delay_s; /* from there to the release of the second curtain, or to the start of closing */
    size_t sensor_count;
    cw_sim_sensor_truth sensors[CW_SIM_SENSORS_MOST];
    /* Focal plane; NaN (leaf): times over the frame, and exposure of an infinitely narrow beam across it. */
    double travel1_s, travel2_s;
    double profile_mm[CW_SIM_PROFILE], profile_s[CW_SIM_PROFILE];
    double fully_open_s; /* time the whole frame (the whole aperture) is open at once; negative: never, by so much */
    double whole_exposure_s; /* leaf: effective exposure over the whole aperture; focal plane: mean over the frame */
    /* The contact's changes, closing first: even indices close, odd ones open. */
    size_t contact_edge_count;
    double contact_s[CW_SIM_CONTACT_EDGES_MOST];
} cw_sim_shot_truth;

typedef struct cw_sim cw_sim;

/* Runs the mechanics. CW_RANGE with the value that is refused: numbers outside what is said above, a curtain that would
 * not reach its stop, too many shots. The caller frees *sim. */
cw_status cw_sim_new(const cw_sim_scenario *scenario, cw_sim **sim, cw_error *err) __attribute__((warn_unused_result));
void cw_sim_free(cw_sim *sim); /* NULL is fine */

size_t cw_sim_shot_count(const cw_sim *sim);
const cw_sim_shot_truth *cw_sim_truth(const cw_sim *sim, size_t shot); /* stays the simulation's */
const cw_sim_scenario *cw_sim_scenario_of(const cw_sim *sim);
double cw_sim_length_s(const cw_sim *sim);
size_t cw_sim_channels(const cw_sim *sim); /* sensors, and the contact when present */
uint64_t cw_sim_frames(const cw_sim *sim);

/* Light at a sensor at one instant, 0 to 1 of full, before lamp and detector. */
double cw_sim_light(const cw_sim *sim, size_t sensor, double t_s);

/* The recording as the recorder sees it, in blocks: interleaved, 1 = full scale, quantised. Gives the frames from the
 * current place; 0 at the end. Constant memory. The same scenario gives the same samples whatever the block sizes. */
size_t cw_sim_read(cw_sim *sim, size_t frames, float *out);
void cw_sim_rewind(cw_sim *sim);

typedef struct {
    double at_s; /* on the recorder's clock, rounded to the resolution */
    unsigned channel;
    bool level; /* true: light, or contact closed, whatever the polarity */
} cw_sim_edge;

/* What a comparator on each detector (threshold, hysteresis, noise) and the contact give, in order of time. The caller
 * frees *edges. */
cw_status cw_sim_edges(cw_sim *sim, double resolution_s, cw_sim_edge **edges, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));

/* --- Files -------------------------------------------------------------------------------------------------------- */

typedef enum {
    CW_SIM_CSV_PLAIN,         /* "time_s,A,B": seconds and volts, comma */
    CW_SIM_CSV_PREAMBLE,      /* settings first, with a sample interval, and no time column */
    CW_SIM_CSV_DECIMAL_COMMA, /* semicolon, decimal comma, ms and mV, CRLF */
    CW_SIM_CSV_TABS,          /* tabs, us, quoted headers, a row of units */
    CW_SIM_CSV_DIALECTS
} cw_sim_csv_dialect;

cw_status cw_sim_write_wav(cw_sim *sim, const char *path, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_sim_write_csv(cw_sim *sim, cw_sim_csv_dialect dialect, const char *path, cw_error *err)
    __attribute__((warn_unused_result));
/* timescale: one of 1, 10, 100 with s, ms, us, ns, as in "10 ns". */
cw_status cw_sim_write_vcd(cw_sim *sim, const char *timescale, const char *path, cw_error *err)
    __attribute__((warn_unused_result));
/* One change a line: seconds, channel letter, 1 or 0. */
cw_status cw_sim_write_edges(cw_sim *sim, double resolution_s, const char *path, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_sim_write_truth(const cw_sim *sim, const char *path, cw_error *err) __attribute__((warn_unused_result));

/* "camerawright.sim-truth/1"; null where a thing is not so. NULL without memory; the caller decrefs. */
json_t *cw_sim_truth_json(const cw_sim *sim);

/* A scenario file: {"base":"focal-plane|leaf|metal-blades","speeds":[{"marked":"1/250","shots":3,"error_ev":0}],
 * "focal":{"second":{"acceleration_m_s2":150}},"detector":{...}}: a starting point and what differs from it, keys as
 * in the structs. CW_INPUT names the key that is unknown or of the wrong kind. */
cw_status cw_sim_load(const char *path, cw_sim_scenario *scenario, cw_error *err) __attribute__((warn_unused_result));

/* --- The sound of a shutter --------------------------------------------------------------------------------------- */

typedef struct {
    double rate_hz;
    uint64_t seed;
    size_t shots;
    double exposure_s[CW_SIM_SPEEDS_MOST]; /* opening to closing click of each shot */
    double lead_s, pause_s;
    double click; /* peak of the opening click, 1 = full scale */
    double close_click;
    double decay_s;      /* ringing of the body after a click */
    double buzz;         /* peak of the escapement's ticks between opening and closing; 0: none */
    double buzz_hz;      /* ticks a second at the start; they slow by a tenth towards the end */
    double self_timer_s; /* a buzz of that length before each opening; 0: none */
    double noise;        /* rms */
    double hum;          /* amplitude at 50 Hz */
} cw_sim_sound;

typedef struct {
    size_t shots;
    double open_s[CW_SIM_SPEEDS_MOST], close_s[CW_SIM_SPEEDS_MOST];        /* first motion of air of each click */
    double buzz_from_s[CW_SIM_SPEEDS_MOST], buzz_to_s[CW_SIM_SPEEDS_MOST]; /* NaN: none */
} cw_sim_sound_truth;

void cw_sim_sound_default(cw_sim_sound *sound);
/* One channel. CW_RANGE for values outside; the caller frees *samples. */
cw_status cw_sim_sound_make(const cw_sim_sound *sound, float **samples, size_t *count, cw_sim_sound_truth *truth,
                            cw_error *err) __attribute__((warn_unused_result));
/* PATH (24-bit WAV) and its truth in PATH with ".truth.json" for ".wav". */
cw_status cw_sim_sound_write(const cw_sim_sound *sound, const char *path, cw_error *err)
    __attribute__((warn_unused_result));

/* --- The demo ----------------------------------------------------------------------------------------------------- */

/* The two invented cameras, each before and after, into an existing folder: tarnbrook-35-before.wav, ... with
 * .truth.json beside. A few MB. */
cw_status cw_sim_demo(const char *folder, cw_error *err) __attribute__((warn_unused_result));

#endif
