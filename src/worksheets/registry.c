/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every worksheet, one line each, kept together by group in the order they are listed. */
#include <string.h>

#include "worksheets/worksheet.h"

/* Declared here, not in headers: nothing else refers to a sheet by its symbol. */
extern const cw_worksheet cw_sheet_flat_wrench;
extern const cw_worksheet cw_sheet_pin_driver;
extern const cw_worksheet cw_sheet_split_collar;
extern const cw_worksheet cw_sheet_friction_ring;
extern const cw_worksheet cw_sheet_clamp_block;
extern const cw_worksheet cw_sheet_find_tool;
extern const cw_worksheet cw_sheet_compare_wrenches;
extern const cw_worksheet cw_sheet_bar_twist;
extern const cw_worksheet cw_sheet_driver_tip;
extern const cw_worksheet cw_sheet_cross_recess;
extern const cw_worksheet cw_sheet_seized_thread;
extern const cw_worksheet cw_sheet_warming;
extern const cw_worksheet cw_sheet_fit;
extern const cw_worksheet cw_sheet_press_fit;
extern const cw_worksheet cw_sheet_pin_strength;
extern const cw_worksheet cw_sheet_staked_pin;
extern const cw_worksheet cw_sheet_which_screw;
extern const cw_worksheet cw_sheet_thread_sizes;
extern const cw_worksheet cw_sheet_gear_identify;
extern const cw_worksheet cw_sheet_gear_mesh;
extern const cw_worksheet cw_sheet_gear_strength;
extern const cw_worksheet cw_sheet_coil_spring;
extern const cw_worksheet cw_sheet_torsion_spring;
extern const cw_worksheet cw_sheet_spring_replace;
extern const cw_worksheet cw_sheet_gate_glass;
extern const cw_worksheet cw_sheet_light_seal;
extern const cw_worksheet cw_sheet_covering;
extern const cw_worksheet cw_sheet_curtain;
extern const cw_worksheet cw_sheet_shims;
extern const cw_worksheet cw_sheet_materials;
extern const cw_worksheet cw_sheet_thin_alcohol;
extern const cw_worksheet cw_sheet_solvent_check;
extern const cw_worksheet cw_sheet_lubricant;
extern const cw_worksheet cw_sheet_battery_leak;
extern const cw_worksheet cw_sheet_light_value;
extern const cw_worksheet cw_sheet_meter_check;
extern const cw_worksheet cw_sheet_reference_light;
extern const cw_worksheet cw_sheet_cell_substitute;
extern const cw_worksheet cw_sheet_speed_dial;
extern const cw_worksheet cw_sheet_flash_contact;
extern const cw_worksheet cw_sheet_capacitor_bleed;
extern const cw_worksheet cw_sheet_lag_times;
extern const cw_worksheet cw_sheet_film_test_plan;
extern const cw_worksheet cw_sheet_gate_circuit;
extern const cw_worksheet cw_sheet_gate_board;
extern const cw_worksheet cw_sheet_gate_template;
extern const cw_worksheet cw_sheet_focus_error;
extern const cw_worksheet cw_sheet_ground_glass;
extern const cw_worksheet cw_sheet_depth_of_focus;
extern const cw_worksheet cw_sheet_depth_of_field;
extern const cw_worksheet cw_sheet_focus_scale;
extern const cw_worksheet cw_sheet_finder_screen;
extern const cw_worksheet cw_sheet_infinity_target;
extern const cw_worksheet cw_sheet_collimator;
extern const cw_worksheet cw_sheet_rangefinder;
extern const cw_worksheet cw_sheet_rangefinder_base;
extern const cw_worksheet cw_sheet_helicoid;
extern const cw_worksheet cw_sheet_mount_register;
extern const cw_worksheet cw_sheet_ground_glass_making;
extern const cw_worksheet cw_sheet_element_order;
extern const cw_worksheet cw_sheet_lens_section;
extern const cw_worksheet cw_sheet_face_radius;
extern const cw_worksheet cw_sheet_glass_index;
extern const cw_worksheet cw_sheet_reading_glasses;

/* one line a sheet */
/* clang-format off */
static const cw_worksheet *const sheets[] = {
    &cw_sheet_flat_wrench,
    &cw_sheet_pin_driver,
    &cw_sheet_split_collar,
    &cw_sheet_friction_ring,
    &cw_sheet_clamp_block,
    &cw_sheet_find_tool,
    &cw_sheet_compare_wrenches,
    &cw_sheet_bar_twist,
    &cw_sheet_driver_tip,
    &cw_sheet_cross_recess,
    &cw_sheet_seized_thread,
    &cw_sheet_warming,
    &cw_sheet_fit,
    &cw_sheet_press_fit,
    &cw_sheet_pin_strength,
    &cw_sheet_staked_pin,
    &cw_sheet_which_screw,
    &cw_sheet_thread_sizes,
    &cw_sheet_gear_identify,
    &cw_sheet_gear_mesh,
    &cw_sheet_gear_strength,
    &cw_sheet_coil_spring,
    &cw_sheet_torsion_spring,
    &cw_sheet_spring_replace,
    &cw_sheet_gate_glass,
    &cw_sheet_light_seal,
    &cw_sheet_covering,
    &cw_sheet_curtain,
    &cw_sheet_shims,
    &cw_sheet_materials,
    &cw_sheet_thin_alcohol,
    &cw_sheet_solvent_check,
    &cw_sheet_lubricant,
    &cw_sheet_battery_leak,
    &cw_sheet_light_value,
    &cw_sheet_meter_check,
    &cw_sheet_reference_light,
    &cw_sheet_cell_substitute,
    &cw_sheet_speed_dial,
    &cw_sheet_flash_contact,
    &cw_sheet_capacitor_bleed,
    &cw_sheet_lag_times,
    &cw_sheet_film_test_plan,
    &cw_sheet_focus_error,
    &cw_sheet_ground_glass,
    &cw_sheet_depth_of_focus,
    &cw_sheet_depth_of_field,
    &cw_sheet_focus_scale,
    &cw_sheet_finder_screen,
    &cw_sheet_infinity_target,
    &cw_sheet_collimator,
    &cw_sheet_rangefinder,
    &cw_sheet_rangefinder_base,
    &cw_sheet_helicoid,
    &cw_sheet_mount_register,
    &cw_sheet_ground_glass_making,
    &cw_sheet_element_order,
    &cw_sheet_lens_section,
    &cw_sheet_face_radius,
    &cw_sheet_glass_index,
    &cw_sheet_reading_glasses,
    &cw_sheet_gate_circuit,
    &cw_sheet_gate_board,
    &cw_sheet_gate_template,
};
/* clang-format on */

const cw_worksheet *const *cw_worksheets(size_t *count)
{
    *count = CW_COUNT(sheets);
    return sheets;
}

const cw_worksheet *cw_worksheet_find(const char *name)
{
    for (size_t i = 0; i < CW_COUNT(sheets); i++)
        if (strcmp(sheets[i]->name, name) == 0)
            return sheets[i];
    return NULL;
}
