/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every handler the table of routes names (routes.c), file by file. page_: GET a page; twin_: its JSON; post_: do. */
#ifndef CW_WEB_PAGES_H
#define CW_WEB_PAGES_H

#include "web/request.h"

#define CW_HANDLER(name) cw_status name(cw_request *request, cw_reply *reply, cw_error *err)

/* bench.c: the jobs; a new one */
CW_HANDLER(page_bench);
CW_HANDLER(twin_bench);
CW_HANDLER(page_new_job);
CW_HANDLER(post_new_job);

/* door.c: pairing, devices, what was refused */
CW_HANDLER(page_door);
CW_HANDLER(twin_door);
CW_HANDLER(post_door_code);
CW_HANDLER(post_door_end);
CW_HANDLER(page_pair);
CW_HANDLER(post_pair);

/* settings.c: language, decimal sign, length unit, dates */
CW_HANDLER(page_settings);
CW_HANDLER(twin_settings);
CW_HANDLER(post_settings);

/* sheets.c, sheet_keep.c: the worksheets */
CW_HANDLER(page_sheets);
CW_HANDLER(twin_sheets);
CW_HANDLER(page_sheet);
CW_HANDLER(twin_sheet);
CW_HANDLER(get_sheet_file);
CW_HANDLER(post_sheet_save);
CW_HANDLER(post_sheet_tool);

/* saved.c: worksheets kept in a job */
CW_HANDLER(page_saved);
CW_HANDLER(twin_saved);
CW_HANDLER(get_saved_file);
CW_HANDLER(post_saved_delete);

/* job.c, history.c */
CW_HANDLER(page_job);
CW_HANDLER(twin_job);
CW_HANDLER(page_job_edit);
CW_HANDLER(post_job_edit);
CW_HANDLER(post_job_stage);
CW_HANDLER(page_history);
CW_HANDLER(twin_history);
CW_HANDLER(post_undo);
CW_HANDLER(post_redo);

/* live.c, live_begin.c, live_keep.c: the live test */
CW_HANDLER(page_live);
CW_HANDLER(twin_live);
CW_HANDLER(get_live_shots);
CW_HANDLER(post_live_begin);
CW_HANDLER(post_live_go_on);
CW_HANDLER(post_live_rest);
CW_HANDLER(post_live_set);
CW_HANDLER(post_live_strike);
CW_HANDLER(post_live_unstrike);
CW_HANDLER(post_live_keep);
CW_HANDLER(post_live_discard);

/* measure.c: typed readings */
CW_HANDLER(page_measure);
CW_HANDLER(twin_measure);
CW_HANDLER(post_measure_keep);

/* twins.c: the JSON of pages that are mostly a form */
CW_HANDLER(twin_new_job);
CW_HANDLER(twin_paper);
CW_HANDLER(twin_import);
CW_HANDLER(twin_pair);
CW_HANDLER(twin_tool_new);
CW_HANDLER(twin_tool);
CW_HANDLER(twin_step);
CW_HANDLER(twin_part);
CW_HANDLER(twin_trace);

/* recording.c, test.c, test_edit.c */
CW_HANDLER(post_recording);
CW_HANDLER(page_recording);
CW_HANDLER(twin_recording);
CW_HANDLER(post_recording_keep);
CW_HANDLER(page_test);
CW_HANDLER(twin_test);
CW_HANDLER(page_test_edit);
CW_HANDLER(twin_test_edit);
CW_HANDLER(post_test_edit);
CW_HANDLER(post_test_delete);
CW_HANDLER(page_trace);

/* by_ear.c: slow speeds from their sound */
CW_HANDLER(post_sound);
CW_HANDLER(page_sound);
CW_HANDLER(twin_sound);
CW_HANDLER(post_sound_keep);

/* photographs.c: a reference and what it is compared with */
CW_HANDLER(post_photographs);
CW_HANDLER(page_photographs);
CW_HANDLER(twin_photographs);
CW_HANDLER(post_photographs_keep);

/* add.c: the phone at the bench */
CW_HANDLER(page_add);
CW_HANDLER(post_add);
CW_HANDLER(post_step_parts);
CW_HANDLER(post_step_photos);
CW_HANDLER(post_job_photos);

/* steps.c, step_edit.c */
CW_HANDLER(page_steps);
CW_HANDLER(page_step);
CW_HANDLER(post_step_earlier);
CW_HANDLER(post_step_later);
CW_HANDLER(post_step_split);
CW_HANDLER(post_step_delete);
CW_HANDLER(post_step_tick);
CW_HANDLER(post_step_skip);
CW_HANDLER(page_step_edit);
CW_HANDLER(post_step_edit);
CW_HANDLER(page_step_new);
CW_HANDLER(post_step_new);

/* photo.c, photo_do.c */
CW_HANDLER(get_photo_small);
CW_HANDLER(get_photo_middle);
CW_HANDLER(get_photo_large);
CW_HANDLER(get_photo_original);
CW_HANDLER(page_photo);
CW_HANDLER(page_mark_again);
CW_HANDLER(twin_photo);
CW_HANDLER(post_mark);
CW_HANDLER(post_mark_edit);
CW_HANDLER(post_photo_edit);
CW_HANDLER(post_photo_cover);
CW_HANDLER(post_photo_delete);

/* part.c, together.c */
CW_HANDLER(page_part);
CW_HANDLER(post_part_edit);
CW_HANDLER(post_part_move);
CW_HANDLER(post_part_delete);
CW_HANDLER(page_trays);
CW_HANDLER(page_tray_again);
CW_HANDLER(post_tray_edit);
CW_HANDLER(page_together);
CW_HANDLER(post_step_back);

/* search.c, way.c, paper.c */
CW_HANDLER(page_search);
CW_HANDLER(twin_search);
CW_HANDLER(page_way);
CW_HANDLER(twin_way);
CW_HANDLER(post_block);
CW_HANDLER(post_block_delete);
CW_HANDLER(page_paper);
CW_HANDLER(get_report);
CW_HANDLER(get_teardown);
CW_HANDLER(get_reassembly);
CW_HANDLER(get_labels);
CW_HANDLER(get_tray);
CW_HANDLER(get_export);
CW_HANDLER(get_notes);
CW_HANDLER(page_import);
CW_HANDLER(post_import);

/* tools.c: the rack; costs.c */
CW_HANDLER(page_tools);
CW_HANDLER(twin_tools);
CW_HANDLER(page_tool_new);
CW_HANDLER(post_tool);
CW_HANDLER(page_tool);
CW_HANDLER(get_tool_drawing);
CW_HANDLER(post_tool_edit);
CW_HANDLER(post_tool_delete);
CW_HANDLER(page_costs);
CW_HANDLER(twin_costs);
CW_HANDLER(post_cost);
CW_HANDLER(post_cost_delete);

/* lists.c: guided lists of a job; own_lists.c: the person's own */
CW_HANDLER(page_lists);
CW_HANDLER(twin_lists);
CW_HANDLER(post_list_start);
CW_HANDLER(page_list);
CW_HANDLER(twin_list);
CW_HANDLER(post_list_answer);
CW_HANDLER(post_list_delete);
CW_HANDLER(get_list_paper);
CW_HANDLER(page_own_lists);
CW_HANDLER(twin_own_lists);
CW_HANDLER(post_own_list);
CW_HANDLER(post_own_list_edit);
CW_HANDLER(post_own_list_delete);

/* prove.c, film.c, levels.c, job_report.c, keys.c */
CW_HANDLER(page_prove);
CW_HANDLER(twin_prove);
CW_HANDLER(post_prove);
CW_HANDLER(twin_next);
CW_HANDLER(page_film);
CW_HANDLER(twin_film);
CW_HANDLER(get_film_paper);
CW_HANDLER(post_film_plan);
CW_HANDLER(post_film_drop);
CW_HANDLER(post_film_frame);
CW_HANDLER(page_report);
CW_HANDLER(twin_report);
CW_HANDLER(page_keys);
CW_HANDLER(twin_keys);
CW_HANDLER(page_levels);
CW_HANDLER(twin_levels);
CW_HANDLER(post_level);
CW_HANDLER(post_level_delete);

/* materials.c, sheet_compare.c */
CW_HANDLER(page_materials);
CW_HANDLER(twin_materials);
CW_HANDLER(page_material);
CW_HANDLER(twin_material);
CW_HANDLER(post_material);
CW_HANDLER(post_material_edit);
CW_HANDLER(post_material_delete);
CW_HANDLER(post_material_undo);
CW_HANDLER(post_material_redo);
CW_HANDLER(page_compare);
CW_HANDLER(twin_compare);

#endif
