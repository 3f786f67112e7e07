/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every address there is. */
#include "web/assets.h"
#include "web/pages/pages.h"
#include "web/request.h"

static const cw_route routes[] = {
    {"GET", "/", page_bench, NULL, NULL, 0},
    {"GET", "/jobs", page_bench, twin_bench, NULL, 0},
    {"GET", "/jobs/new", page_new_job, NULL, NULL, 0},
    {"POST", "/jobs/new", post_new_job, NULL, page_new_job, 0},
    {"GET", "/jobs/#", page_job, twin_job, NULL, 0},
    {"GET", "/jobs/#/edit", page_job_edit, NULL, NULL, 0},
    {"POST", "/jobs/#/edit", post_job_edit, NULL, page_job_edit, 0},
    {"POST", "/jobs/#/stage", post_job_stage, NULL, page_job, 0},
    {"GET", "/jobs/#/history", page_history, twin_history, NULL, 0},
    {"POST", "/jobs/#/undo", post_undo, NULL, page_history, 0},
    {"POST", "/jobs/#/redo", post_redo, NULL, page_history, 0},

    {"GET", "/jobs/#/way", page_way, twin_way, NULL, 0},
    {"POST", "/jobs/#/blocks", post_block, NULL, page_way, 0},
    {"POST", "/jobs/#/blocks/#/delete", post_block_delete, NULL, page_way, 0},
    {"GET", "/jobs/#/paper", page_paper, NULL, NULL, 0},
    {"GET", "/jobs/#/report.pdf", get_report, NULL, NULL, CW_ROUTE_HEAVY},
    {"GET", "/jobs/#/teardown.pdf", get_teardown, NULL, NULL, CW_ROUTE_HEAVY},
    {"GET", "/jobs/#/reassembly.pdf", get_reassembly, NULL, NULL, CW_ROUTE_HEAVY},
    {"GET", "/jobs/#/labels.pdf", get_labels, NULL, NULL, CW_ROUTE_HEAVY},
    {"GET", "/jobs/#/trays/#", get_tray, NULL, NULL, 0},
    {"GET", "/jobs/#/export.zip", get_export, NULL, NULL, CW_ROUTE_HEAVY},
    {"GET", "/import", page_import, NULL, NULL, 0},
    {"POST", "/import", post_import, NULL, page_import, CW_ROUTE_RECORDING | CW_ROUTE_HEAVY},
    {"GET", "/search", page_search, twin_search, NULL, 0},

    {"GET", "/jobs/#/add", page_add, NULL, NULL, 0},
    {"POST", "/jobs/#/add", post_add, NULL, page_add, CW_ROUTE_PHOTO | CW_ROUTE_HEAVY},
    {"POST", "/jobs/#/photos", post_job_photos, NULL, page_job, CW_ROUTE_PHOTO | CW_ROUTE_HEAVY},
    {"GET", "/jobs/#/steps", page_steps, twin_job, NULL, 0},
    {"GET", "/jobs/#/steps/new", page_step_new, NULL, NULL, 0},
    {"POST", "/jobs/#/steps/new", post_step_new, NULL, page_step_new, 0},
    {"GET", "/jobs/#/trays", page_trays, twin_job, NULL, 0},
    {"GET", "/jobs/#/together", page_together, twin_job, NULL, 0},
    {"GET", "/steps/#", page_step, NULL, NULL, 0},
    {"GET", "/steps/#/edit", page_step_edit, NULL, NULL, 0},
    {"POST", "/steps/#/edit", post_step_edit, NULL, page_step_edit, 0},
    {"POST", "/steps/#/parts", post_step_parts, NULL, page_step, 0},
    {"POST", "/steps/#/photos", post_step_photos, NULL, page_step, CW_ROUTE_PHOTO | CW_ROUTE_HEAVY},
    {"POST", "/steps/#/earlier", post_step_earlier, NULL, page_step, 0},
    {"POST", "/steps/#/later", post_step_later, NULL, page_step, 0},
    {"POST", "/steps/#/split", post_step_split, NULL, page_step, 0},
    {"POST", "/steps/#/delete", post_step_delete, NULL, page_step, 0},
    {"POST", "/steps/#/tick", post_step_tick, NULL, page_step, 0},
    {"POST", "/steps/#/skip", post_step_skip, NULL, page_step, 0},
    {"POST", "/steps/#/back", post_step_back, NULL, page_step, 0},
    {"GET", "/parts/#", page_part, NULL, NULL, 0},
    {"POST", "/parts/#/edit", post_part_edit, NULL, page_part, 0},
    {"POST", "/parts/#/move", post_part_move, NULL, page_part, 0},
    {"POST", "/parts/#/delete", post_part_delete, NULL, page_part, 0},
    {"POST", "/trays/#/edit", post_tray_edit, NULL, NULL, 0},
    {"GET", "/photos/#", page_photo, twin_photo, NULL, 0},
    {"GET", "/photos/#/small", get_photo_small, NULL, NULL, 0},
    {"GET", "/photos/#/middle", get_photo_middle, NULL, NULL, 0},
    {"GET", "/photos/#/large", get_photo_large, NULL, NULL, 0},
    {"GET", "/photos/#/original", get_photo_original, NULL, NULL, 0},
    {"POST", "/photos/#/marks", post_mark, NULL, page_photo, 0},
    {"POST", "/photos/#/edit", post_photo_edit, NULL, page_photo, 0},
    {"POST", "/photos/#/cover", post_photo_cover, NULL, page_photo, 0},
    {"POST", "/photos/#/delete", post_photo_delete, NULL, page_photo, 0},
    {"POST", "/marks/#/edit", post_mark_edit, NULL, NULL, 0},

    {"GET", "/measure", page_measure, twin_measure, NULL, 0},
    {"POST", "/measure/keep", post_measure_keep, NULL, page_measure, 0},
    {"POST", "/recordings", post_recording, NULL, page_measure, CW_ROUTE_RECORDING},
    {"GET", "/recordings/#", page_recording, twin_recording, NULL, CW_ROUTE_HEAVY},
    {"POST", "/recordings/#/keep", post_recording_keep, NULL, page_recording, CW_ROUTE_HEAVY},
    {"GET", "/tests/#", page_test, twin_test, NULL, 0},
    {"POST", "/tests/#/delete", post_test_delete, NULL, page_test, 0},
    {"GET", "/tests/#/trace", page_trace, NULL, NULL, CW_ROUTE_HEAVY},

    {"GET", "/saved/#", page_saved, twin_saved, NULL, CW_ROUTE_HEAVY},
    {"GET", "/saved/#/*", get_saved_file, NULL, NULL, CW_ROUTE_HEAVY},
    {"POST", "/saved/#/delete", post_saved_delete, NULL, page_saved, 0},

    {"GET", "/worksheets", page_sheets, twin_sheets, NULL, 0},
    {"GET", "/worksheets/*", page_sheet, twin_sheet, NULL, CW_ROUTE_HEAVY},
    {"GET", "/worksheets/*/*", get_sheet_file, NULL, NULL, CW_ROUTE_HEAVY},
    {"POST", "/worksheets/*/save", post_sheet_save, NULL, page_sheet, CW_ROUTE_HEAVY},

    {"GET", "/door", page_door, twin_door, NULL, 0},
    {"POST", "/door/code", post_door_code, NULL, page_door, CW_ROUTE_LAPTOP},
    {"POST", "/door/devices/#/end", post_door_end, NULL, page_door, 0},
    {"GET", "/pair", page_pair, NULL, NULL, CW_ROUTE_OPEN},
    {"POST", "/pair", post_pair, NULL, page_pair, CW_ROUTE_OPEN},

    {"GET", "/assets/*/*", cw_get_asset, NULL, NULL, CW_ROUTE_OPEN | CW_ROUTE_QUICK},
    {"GET", "/favicon.ico", cw_get_favicon, NULL, NULL, CW_ROUTE_OPEN | CW_ROUTE_QUICK},
};

const cw_route *cw_routes(size_t *count)
{
    *count = CW_COUNT(routes);
    return routes;
}
