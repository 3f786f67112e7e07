/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Twins of the pages that are mostly a form: what there is to fill in, and where it goes. */
#include <inttypes.h>
#include <stdio.h>

#include "notebook/job.h"
#include "notebook/job_json.h"
#include "notebook/photo.h"
#include "web/house.h"
#include "web/pages/pages.h"

cw_status twin_step(cw_request *request, cw_reply *reply, cw_error *err)
{
    return cw_step_json(request->bench, request->match.ids[0], &reply->json, err);
}

cw_status twin_part(cw_request *request, cw_reply *reply, cw_error *err)
{
    return cw_part_json(request->bench, request->match.ids[0], &reply->json, err);
}

static cw_status reply_with(cw_reply *reply, json_t *json, cw_error *err)
{
    reply->json = json;
    return json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for this page");
}

/* The kinds of camera there are, for suggestions. */
cw_status twin_new_job(cw_request *request, cw_reply *reply, cw_error *err)
{
    enum { KINDS_OFFERED = 50 };
    cw_camera_list kinds;
    CW_TRY(cw_camera_kinds(request->bench, KINDS_OFFERED, &kinds, err));
    json_t *cameras = json_array();
    for (size_t i = 0; i < kinds.count; i++)
        json_array_append_new(
            cameras, json_pack("{s:s,s:I}", "camera", kinds.items[i].camera, "jobs", (json_int_t)kinds.items[i].jobs));
    cw_camera_list_free(&kinds);
    return reply_with(reply,
                      json_pack("{s:s,s:s,s:[s,s,s,s,s,s],s:o}", "format", "camerawright.new-job/1", "post",
                                "/jobs/new", "fields", "camera", "serial", "shutter", "complaint", "owner", "notes",
                                "cameras", cameras),
                      err);
}

/* Every paper of a job and where it is made. */
cw_status twin_paper(cw_request *request, cw_reply *reply, cw_error *err)
{
    static const char *const files[][2] = {{"report", "report.pdf"},         {"teardown", "teardown.pdf"},
                                           {"reassembly", "reassembly.pdf"}, {"tray-labels", "labels.pdf"},
                                           {"archive", "export.zip"},        {"notes", "notes.zip"}};
    cw_job job;
    int64_t id = request->match.ids[0];
    CW_TRY(cw_job_get(request->bench, id, &job, err));
    cw_job_free(&job);
    json_t *documents = json_array();
    for (size_t i = 0; i < CW_COUNT(files); i++) {
        char address[64];
        snprintf(address, sizeof address, "/jobs/%" PRId64 "/%s", id, files[i][1]);
        json_array_append_new(documents, json_pack("{s:s,s:s}", "name", files[i][0], "address", address));
    }
    return reply_with(reply,
                      json_pack("{s:s,s:I,s:[s,s],s:o}", "format", "camerawright.paper/1", "job_id", (json_int_t)id,
                                "papers", "A4", "Letter", "documents", documents),
                      err);
}

cw_status twin_import(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)request;
    return reply_with(reply,
                      json_pack("{s:s,s:s,s:s,s:s,s:s}", "format", "camerawright.import/1", "post", "/import", "field",
                                "job", "media", "application/zip", "archive", "camerawright.job-archive/1"),
                      err);
}

/* Seen unpaired: nothing of the bench is in it. */
cw_status twin_pair(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_with(reply,
                      json_pack("{s:s,s:s,s:[s,s],s:b,s:b}", "format", "camerawright.pair/1", "post", "/pair", "fields",
                                "code", "name", "paired", (int)request->pass.paired, "laptop",
                                (int)request->pass.laptop),
                      err);
}

cw_status twin_tool_new(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)request;
    return reply_with(reply,
                      json_pack("{s:s,s:s,s:[s,s,s,s,s,s]}", "format", "camerawright.new-tool/1", "post", "/tools",
                                "fields", "name", "kind", "made", "sizes", "place", "notes"),
                      err);
}
