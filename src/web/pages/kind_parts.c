/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/kind_parts.h"

#include "web/page.h"

static const cw_option_item shutters[] = {
    {"leaf", "Leaf shutter"}, {"focal-plane", "Focal-plane shutter"}, {"unknown", "Not sure"}};
static const cw_option_item finders[] = {{"rangefinder", "Rangefinder"},
                                         {"reflex", "Reflex, one lens or two"},
                                         {"viewfinder", "Viewfinder, distance by scale"},
                                         {"none", "None, or a ground glass"},
                                         {"unknown", "Not sure"}};
static const cw_option_item meters[] = {
    {"none", "None"}, {"battery", "On a battery"}, {"light-cell", "Without a battery"}, {"unknown", "Not sure"}};
static const cw_option_item answers[] = {{"yes", "Yes"}, {"no", "No"}, {"unknown", "Not sure"}};

void cw_write_kind_fields(const cw_request *request, cw_html *h, const cw_job *job)
{
    cw_field_choice(
        request, h, "shutter", "Shutter", cw_job_shutter_name(job->shutter), shutters, CW_COUNT(shutters),
        "A leaf shutter opens like an iris, in the lens; a focal-plane shutter is a curtain before the film.");
    cw_field_choice(request, h, "finder", "Finder", cw_finder_name(job->finder), finders, CW_COUNT(finders),
                    "What it has decides which tests are proposed, before and after the work.");
    cw_field_choice(request, h, "meter", "Light meter", cw_meter_fitted_name(job->meter), meters, CW_COUNT(meters),
                    NULL);
    cw_field_choice(request, h, "flash", "Flash contact", cw_fitted_name(job->flash), answers, CW_COUNT(answers), NULL);
    cw_field_choice(request, h, "bellows", "Bellows", cw_fitted_name(job->bellows), answers, CW_COUNT(answers), NULL);
}

cw_status cw_read_kind_fields(const cw_request *request, cw_job *job, cw_error *err)
{
    cw_job read = *job;
    CW_TRY(cw_job_shutter_parse(cw_value(request, "shutter", "unknown"), &read.shutter, err));
    CW_TRY(cw_finder_parse(cw_value(request, "finder", "unknown"), &read.finder, err));
    CW_TRY(cw_meter_fitted_parse(cw_value(request, "meter", "unknown"), &read.meter, err));
    CW_TRY(cw_fitted_parse(cw_value(request, "flash", "unknown"), &read.flash, err));
    CW_TRY(cw_fitted_parse(cw_value(request, "bellows", "unknown"), &read.bellows, err));
    *job = read;
    return CW_OK;
}
