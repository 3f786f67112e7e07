/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/light.h"

#include <math.h>

#include "base/range.h"

double cw_ev_of_settings(double aperture, double time_s)
{
    return aperture > 0 ? cw_log2_ratio(aperture * aperture, time_s) : NAN;
}

double cw_light_value(double aperture, double time_s, double film_speed)
{
    return cw_ev_of_settings(aperture, time_s) + cw_log2_ratio(100, film_speed);
}

double cw_luminance_at_ev(double ev_at_iso_100, double k)
{
    return exp2(ev_at_iso_100) * k / 100;
}

double cw_illuminance_at_ev(double ev_at_iso_100, double c)
{
    return exp2(ev_at_iso_100) * c / 100;
}

double cw_ev_of_luminance(double luminance, double k)
{
    return cw_log2_ratio(luminance * 100, k);
}

double cw_ev_of_illuminance(double illuminance, double c)
{
    return cw_log2_ratio(illuminance * 100, c);
}

double cw_illuminance_of_lamp(double intensity_cd, double distance_m)
{
    return distance_m > 0 ? intensity_cd / (distance_m * distance_m) : NAN;
}

double cw_luminance_of_card(double illuminance, double reflectance)
{
    return illuminance * reflectance / M_PI;
}

double cw_apex_av(double aperture)
{
    return 2 * log2(aperture);
}

double cw_apex_tv(double time_s)
{
    return -log2(time_s);
}

double cw_apex_sv(double film_speed)
{
    return log2(film_speed / 3.125);
}

double cw_film_degrees(double film_speed)
{
    return 1 + 10 * log10(film_speed);
}

double cw_film_speed_mark(double film_speed)
{
    static const double marks[] = {6,    8,    10,   12,   16,   20,   25,   32,   40,  50,  64,
                                   80,   100,  125,  160,  200,  250,  320,  400,  500, 640, 800,
                                   1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400};
    double best = marks[0];
    for (size_t i = 0; i < CW_COUNT(marks); i++)
        if (fabs(log2(marks[i] / film_speed)) < fabs(log2(best / film_speed)))
            best = marks[i];
    return best;
}

cw_status cw_speed_setting_find(double film_speed, double exposure_error_ev, double filter_factor, double extra_ev,
                                cw_speed_setting *setting, cw_error *err)
{
    CW_TRY(cw_check_within("film speed", film_speed, CW_PLAIN, NULL, 0.5, 25600, err));
    CW_TRY(cw_check_within("exposure error", exposure_error_ev, CW_EXPOSURE_VALUE, "EV", -10, 10, err));
    CW_TRY(cw_check_within("filter factor", filter_factor, CW_PLAIN, NULL, 1, 1e5, err));
    CW_TRY(cw_check_within("extra exposure", extra_ev, CW_EXPOSURE_VALUE, "EV", -10, 10, err));
    double exact = film_speed * exp2(exposure_error_ev - extra_ev) / filter_factor, mark = cw_film_speed_mark(exact);
    *setting = (cw_speed_setting){exact, mark, log2(exact / mark), log2(filter_factor)};
    return CW_OK;
}
