/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs as JSON, the same keys in every face: the page's .json twin and `job show --json`. Manners: bench.h. */
#ifndef CW_NOTEBOOK_JOB_JSON_H
#define CW_NOTEBOOK_JOB_JSON_H

#include <jansson.h>

#include "notebook/job.h"

/* {"format":"camerawright.jobs/1","first":..,"total":..,"jobs":[{"id","camera","serial","shutter","stage","complaint",
 * "taken_in_on","changed_at","steps","photos","tests","pieces_out"}]}. NULL without memory. */
json_t *cw_job_list_json(const cw_job_list *list, int64_t first);

/* {"format":"camerawright.job/1","id",...,"count":{"out":..},"missing":[..],"trays":[..],"steps":[{..,"parts":[..],
 * "photos":[..]}],"tests":[{..,"result":{..}}],"worksheets":[..]}; what is not noted is "", what is not known null. The
 * caller releases *json. */
cw_status cw_job_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err) __attribute__((warn_unused_result));

/* One step with its parts and photos, "camerawright.step/1"; one part with its photos, "camerawright.part/1": the same
 * keys as inside a job, and "job_id". */
cw_status cw_step_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_part_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err) __attribute__((warn_unused_result));

#endif
