/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/truth.h"

static const double places[] = {4, 18, 32};

static void the_run_from_rest_is_found_over_the_whole_frame(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth();
    cw_shot shots[6];
    cw_error err;
    for (size_t j = 0; j < 6; j++)
        shots[j] = truth_fire(&camera, truth_release(&camera, 0.00443), 0.004, (double)j, 3, places, NULL);
    cw_test_setup setup = truth_setup(3, places);
    cw_shutter_test *test = NULL;
    assert_ok(cw_shutter_evaluate(&setup, shots, 6, &test, &err), &err);
    assert_near(test->curtains.travel1_s.value, 0.012, 1e-6);
    assert_near(test->speeds[0].error_ev.value, 0.1473, 0.001);
    cw_shutter_test_free(test);
}

CHECK_MAIN(cmocka_unit_test(the_run_from_rest_is_found_over_the_whole_frame))
