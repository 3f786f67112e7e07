/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hours and costs of a job, for those who want them. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "notebook/job.h"
#include "notebook/rack.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

static void write_hours(cw_html *h, double worked_s)
{
    if (isfinite(worked_s) && worked_s > 0)
        html_textf(h, "%.0f h %02.0f min", floor(worked_s / 3600), fmod(floor(worked_s / 60), 60));
}

static void write_amount(cw_html *h, double amount, const char *currency)
{
    if (isfinite(amount))
        html_textf(h, "%.2f %s", amount, currency);
}

static void write_cost(cw_request *request, cw_html *h, const cw_cost *cost, const char *currency)
{
    html_markup(h, "<tr><td>");
    html_text(h, cost->on);
    html_markup(h, "</td><th scope='row'>");
    html_text(h, cost->what);
    html_markup(h, "</th><td class='n'>");
    write_hours(h, cost->worked_s);
    html_markup(h, "</td><td class='n'>");
    write_amount(h, cost->amount, currency);
    html_markup(h, "</td><td>");
    char label[CW_LINE_MOST + 16];
    snprintf(label, sizeof label, "Remove %.40s", cost->what);
    cw_button_form(request, h, true, label, "/jobs/%" PRId64 "/costs/%" PRId64 "/delete", cost->job_id, cost->id);
    html_markup(h, "</td></tr>\n");
}

static void write_table(cw_request *request, cw_html *h, const cw_cost_list *costs, const cw_job *job)
{
    html_markup(h, "<div class='scroll' tabindex='0' role='region' aria-label='Hours and costs'><table><thead><tr>"
                   "<th scope='col'>Day</th><th scope='col'>What</th><th scope='col' class='n'>Time</th>"
                   "<th scope='col' class='n'>Cost</th><th scope='col'>Remove</th></tr></thead><tbody>");
    for (size_t i = 0; i < costs->count; i++)
        write_cost(request, h, &costs->items[i], job->currency);
    html_markup(h, "<tr><td></td><th scope='row'>Together</th><td class='n'><strong>");
    write_hours(h, costs->worked_s);
    html_markup(h, "</strong></td><td class='n'><strong>");
    write_amount(h, costs->amount, job->currency);
    html_markup(h, "</strong></td><td></td></tr></tbody></table></div>\n");
    if (isfinite(job->agreed_cost)) {
        html_markup(h, "<p>Agreed: ");
        write_amount(h, job->agreed_cost, job->currency);
        html_markup(h, "</p>\n");
    }
}

static void write_form(cw_request *request, cw_html *h, const cw_job *job)
{
    html_markup(h, "<section class='panel'><h2>Add</h2>");
    cw_form_begin(request, h, false, "/jobs/%" PRId64 "/costs", job->id);
    cw_field_input(request, h,
                   &(cw_input){.name = "what", .label = "What", .required = true, .value = "", .example = "new seals"});
    html_markup(h, "<div class='pair'>");
    cw_field_input(request, h, &(cw_input){.name = "worked", .label = "Time", .value = "", .example = "40 min"});
    cw_field_input(
        request, h,
        &(cw_input){.name = "amount", .label = "Cost", .unit = job->currency, .value = "", .mode = "decimal"});
    html_markup(h, "</div>");
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "on", .label = "Day", .type = "date", .value = "", .narrow = true, .help = "today, if left empty"});
    if (job->currency[0] == '\0')
        cw_field_input(
            request, h,
            &(cw_input){.name = "currency", .label = "Your currency", .value = "", .narrow = true, .example = "EUR"});
    cw_submit(h, "Add");
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

cw_status page_costs(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    cw_cost_list costs;
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_status status = cw_cost_page(request->bench, job.id, &costs, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        cw_page_begin(request, reply, CW_PLACE_BENCH, "Hours and costs");
        status = cw_write_job_title(request, h, job.id, "Hours and costs", err);
        if (costs.count > 0)
            write_table(request, h, &costs, &job);
        write_form(request, h, &job);
        cw_page_end(reply);
        cw_cost_list_free(&costs);
    }
    cw_job_free(&job);
    return status;
}

static json_t *number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

cw_status twin_costs(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_cost_list costs;
    CW_TRY(cw_cost_page(request->bench, request->match.ids[0], &costs, err));
    json_t *list = json_array();
    for (size_t i = 0; i < costs.count; i++)
        json_array_append_new(list, json_pack("{s:I,s:s,s:s,s:o,s:o}", "id", (json_int_t)costs.items[i].id, "on",
                                              costs.items[i].on, "what", costs.items[i].what, "worked_s",
                                              number_or_null(costs.items[i].worked_s), "amount",
                                              number_or_null(costs.items[i].amount)));
    reply->json = json_pack("{s:s,s:o,s:o,s:o}", "format", "camerawright.costs/1", "worked_s",
                            number_or_null(costs.worked_s), "amount", number_or_null(costs.amount), "costs", list);
    cw_cost_list_free(&costs);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the costs");
}

static cw_status parse_or_none(const cw_request *request, const char *name, cw_dimension dimension, const char *unit,
                               double *value, cw_error *err)
{
    const char *text = cw_posted(request, name);
    *value = NAN;
    if (text[0] == '\0')
        return CW_OK;
    cw_status status = cw_parse_measure(text, dimension, unit, value, err);
    if (status != CW_OK)
        cw_context(err, "%s", strcmp(name, "worked") == 0 ? "time" : "cost");
    return status;
}

static cw_status keep_currency(cw_request *request, int64_t job_id, cw_error *err)
{
    const char *currency = cw_posted(request, "currency");
    cw_job job;
    if (currency[0] == '\0')
        return CW_OK;
    CW_TRY(cw_job_get(request->bench, job_id, &job, err));
    job.currency = currency;
    cw_status status = cw_job_update(request->bench, &job, err);
    cw_job_free(&job);
    return status;
}

static cw_status add_cost(cw_request *request, const cw_cost *cost, cw_error *err)
{
    int64_t id;
    CW_TRY(keep_currency(request, cost->job_id, err));
    return cw_cost_add(request->bench, cost, &id, err);
}

cw_status post_cost(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_cost cost = {
        .job_id = request->match.ids[0], .on = cw_posted(request, "on"), .what = cw_posted(request, "what")};
    CW_TRY(parse_or_none(request, "worked", CW_TIME, "min", &cost.worked_s, err));
    CW_TRY(parse_or_none(request, "amount", CW_PLAIN, NULL, &cost.amount, err));
    CW_TRY(cw_change_begin(request->bench, cost.job_id, "hours and costs", err));
    cw_status status = add_cost(request, &cost, err);
    if (status == CW_OK)
        status = cw_change_commit(request->bench, err);
    else
        cw_change_cancel(request->bench);
    if (status == CW_OK)
        cw_go(request, reply, "Added.", "/jobs/%" PRId64 "/costs", cost.job_id);
    return status;
}

cw_status post_cost_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_cost_delete(request->bench, request->match.ids[1], err));
    cw_go(request, reply, "Removed. \"History and undo\" brings it back.", "/jobs/%" PRId64 "/costs",
          request->match.ids[0]);
    return CW_OK;
}
