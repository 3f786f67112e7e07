/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exposure value, luminance, illuminance and film speed. ISO 2720:1974: N^2/t = L S/K = E S/C; EV = log2(N^2/t). SI
 * units. */
#ifndef CW_EXPOSURE_LIGHT_H
#define CW_EXPOSURE_LIGHT_H

#include "base/error.h"
#include "base/quantity.h"

#define CW_REFLECTED_K 12.5 /* cd s/(m2 ISO), customary; 10.6 to 13.4 recommended */
#define CW_INCIDENT_C 250.0 /* lx s/ISO, customary for a flat receptor */

/* NaN unless both are positive. */
double cw_ev_of_settings(double aperture, double time_s);
/* The light, as EV at ISO 100, of settings right at a film speed. */
double cw_light_value(double aperture, double time_s, double film_speed);

double cw_luminance_at_ev(double ev_at_iso_100, double k);   /* cd/m2 */
double cw_illuminance_at_ev(double ev_at_iso_100, double c); /* lx */
double cw_ev_of_luminance(double luminance, double k);       /* at ISO 100 */
double cw_ev_of_illuminance(double illuminance, double c);

/* A small lamp of known intensity: E = I/d^2, good from five times the lamp's size on. A matt card of reflectance r
 * then has L = r E/pi. */
double cw_illuminance_of_lamp(double intensity_cd, double distance_m);
double cw_luminance_of_card(double illuminance, double reflectance);

/* APEX (ASA PH2.5-1960): Av = log2(N^2), Tv = -log2(t), Sv = log2(S/3.125), Bv + Sv = Av + Tv. */
double cw_apex_av(double aperture);
double cw_apex_tv(double time_s);
double cw_apex_sv(double film_speed);

/* ISO speed in degrees: 1 + 10 log10(S), ISO 5800 and ISO 6; rounded to the step is the caller's business. */
double cw_film_degrees(double film_speed);

/* The third-of-a-stop mark nearest to a film speed, 6 to 6400: 100, 125, 160, 200 ... Outside: the nearest end. */
double cw_film_speed_mark(double film_speed);

/* What to set on the dial. `exposure_error_ev`: what the camera gives too much (+) at the true speed. filter_factor >=
 * 1: for a meter that does not look through the filter. extra_ev: more light wanted (+), for old film or habit. dial =
 * S 2^(error - extra) / filter_factor. */
typedef struct {
    double dial_exact, dial_mark; /* ISO to set; nearest mark */
    double left_ev;               /* exposure error that is left at the mark, + = more light */
    double filter_ev;
} cw_speed_setting;

cw_status cw_speed_setting_find(double film_speed, double exposure_error_ev, double filter_factor, double extra_ev,
                                cw_speed_setting *setting, cw_error *err) __attribute__((warn_unused_result));

#endif
