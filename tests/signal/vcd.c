/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Value change dumps as IEEE Std 1364 allows them and as programs write them: each file of the table gives the same two
 * releases of one line, 8.37 ms and 7.91 ms long. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "signal/source.h"
#include "support/check.h"

static const cw_edge TRUTH[] = {{0, 0}, {0.0213, 1}, {0.02967, 0}, {0.0581, 1}, {0.06601, 0}};

static cw_status open_vcd(const char *text, cw_source **source, cw_error *err)
{
    char folder[200], path[256];
    check_folder("vcd-forms", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/a.vcd", folder);
    assert_ok(cw_write_file(path, text, strlen(text), err), err);
    cw_status status = cw_source_open(path, NULL, source, err);
    unlink(path);
    rmdir(folder);
    return status;
}

static void every_form_gives_the_same_releases(void **state)
{
    (void)state;
    static const struct {
        const char *what, *text, *name, *warning;
    } files[] = {
        {"plain",
         "$timescale 10 us $end\n$scope module top $end\n$var wire 1 ! A $end\n$upscope $end\n$enddefinitions $end\n"
         "#0\n$dumpvars\n0!\n$end\n#2130\n1!\n#2967\n0!\n#5810\n1!\n#6601\n0!\n#9000\n",
         "A", NULL},
        {"CRLF, a byte order mark, tabs, all in few lines",
         "\xef\xbb\xbf$timescale\r\n\t10us\r\n$end\r\n$var\treg 1 ! A $end $enddefinitions $end\r\n#0 0! #2130 1!\r\n"
         "#2967 0! #5810 1! #6601 0! #9000\r\n",
         "A", NULL},
        {"hundreds of picoseconds, long identifiers, an escaped name with a blank in its bits",
         "$timescale 100 ps $end $var wire 1 abc~1 \\light#1 [0] $end $enddefinitions $end\n#0 0abc~1\n#213000000 "
         "1abc~1\n#296700000 0abc~1\n#581000000 1abc~1\n#660100000 0abc~1\n#900000000\n",
         "\\light#1[0]", NULL},
        {"femtoseconds",
         "$timescale 1 fs $end $var wire 1 ! A $end $enddefinitions $end\n#0 0!\n#21300000000000 1!\n#29670000000000 "
         "0!\n#58100000000000 1!\n#66010000000000 0!\n#90000000000000\n",
         "A", NULL},
        {"one bit as a vector, padded, in capitals",
         "$timescale 10 us $end $var reg 1 \" A [3] $end $enddefinitions $end #0 b0 \"\n#2130 B1 \"\n#2967 b0000 "
         "\"\n#5810 b0001 \"\n#6601 b0 \"\n#9000\n",
         "A[3]", NULL},
        {"levels before the first instant",
         "$timescale 10 us $end $var wire 1 ! A $end $enddefinitions $end $dumpvars 0! $end\n#0\n#2130 1!\n#2967 "
         "0!\n#5810 1!\n#6601 0!\n#9000\n",
         "A", NULL},
        {"remarks anywhere",
         "$comment 1! #5 $end $date today $end $version 1 $end $timescale 10 us $end $comment $var $end\n$var wire 1 ! "
         "A "
         "$end $comment x $end $enddefinitions $end\n$comment #99999999 $end #0 0!\n#2130 1!\n$comment 0! in words "
         "$end\n#2967 0!\n#5810 $comment $end 1!\n#6601 0!\n#9000\n",
         "A", NULL},
        {"dumped again, off and on, the same level twice",
         "$timescale 10 us $end $var wire 1 ! A $end $enddefinitions $end #0 $dumpvars 0! $end\n#1000 $dumpall 0! "
         "$end\n#2130 1!\n#2200 1!\n#2967 0!\n#5810 1!\n#6000 $dumpall 1! $end #6601 0!\n#9000 $dumpon 0! $end\n",
         "A", NULL},
        {"no $enddefinitions, $dumpvars next",
         "$timescale 10 us $end $var wire 1 ! A $end\n$dumpvars 0! $end #0\n#2130 1!\n#2967 0!\n#5810 1!\n#6601 "
         "0!\n#9000\n",
         "A", "no $enddefinitions"},
        {"no $enddefinitions, an instant next",
         "$timescale 10 us $end $var wire 1 ! A $end\n#0 0!\n#2130 1!\n#2967 0!\n#5810 1!\n#6601 0!\n#9000\n", "A",
         "no $enddefinitions"},
        {"the same identifier for two names",
         "$timescale 10 us $end $var wire 1 ! A $end $scope module b $end $var wire 1 ! again $end $upscope $end "
         "$enddefinitions $end #0 0!\n#2130 1!\n#2967 0!\n#5810 1!\n#6601 0!\n#9000\n",
         "A", NULL},
        {"a blank before the identifier",
         "$timescale 10 us $end $var wire 1 ! A $end $enddefinitions $end #0\n0 !\n#2130\n1 !\n#2967\n0 !\n#5810\n1 "
         "!\n#6601\n0 !\n#9000\n",
         "A", NULL},
        {"levels of nine states",
         "$timescale 10 us $end $var wire 1 ! A $end $enddefinitions $end #0 L!\n#2130 H!\n#2967 l!\n#5810 h!\n#6601 "
         "0!\n#9000\n",
         "A", NULL},
        {"two changes at one instant: the later counts",
         "$timescale 10 us $end $var wire 1 ! A $end $enddefinitions $end #0 0!\n#2130 0! 1!\n#2967 1! 0!\n#5810 "
         "1!\n#5810 0! 1!\n#6601 0!\n#9000\n",
         "A", NULL},
        {"buses, real numbers and texts beside",
         "$timescale 10 us $end $var integer 32 i count $end $var real 64 r volts $end $var string 1 s state $end $var "
         "wire 1 ! A $end $enddefinitions $end #0 b101 i r1.25e-3 r sidle s 0!\n#2130 1! r3.2 r\n#2967 0! b110 "
         "i\n#5810 1! sopen s\n#6601 0!\n#9000\n",
         "A", "bus"},
        {"an extended dump: ports, strengths, $vcdclose",
         "$timescale 10 us $end $scope module m $end $var port 1 <0 A $end $var port [3:0] <1 data $end $upscope $end "
         "$enddefinitions $end\n#0 $dumpports pD 6 0 <0 pDDDD 6666 0000 <1 $end\n#2130 pU 0 6 <0\n#2967 pL 6 0 "
         "<0\n#5810 pH 0 6 <0 pDDDU 6660 0006 <1\n#6601 pd 6 0 <0\n$vcdclose #9000 $end\n",
         "A", "bus"},
        {"begins with another keyword",
         "$scope module x $end $var wire 1 ! A $end $upscope $end $timescale 10 us $end $enddefinitions $end #0 "
         "0!\n#2130 1!\n#2967 0!\n#5810 1!\n#6601 0!\n#9000\n",
         "A", NULL},
    };
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        size_t count;
        print_message("%s\n", files[k].what);
        assert_ok(open_vcd(files[k].text, &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->form, CW_SOURCE_EDGES);
        assert_int_equal(info->channels, 1);
        assert_string_equal(info->names[0], files[k].name);
        assert_true(info->length_s == 0.09);
        if (files[k].warning != NULL)
            assert_contains(info->warnings[0], files[k].warning);
        else
            assert_int_equal(info->warning_count, 0);
        const cw_edge *edges = cw_source_edges(source, 0, &count);
        assert_int_equal(count, CW_COUNT(TRUTH));
        for (size_t i = 0; i < count; i++) {
            assert_true(edges[i].at_s == TRUTH[i].at_s); /* to the last bit */
            assert_int_equal(edges[i].level, TRUTH[i].level);
        }
        cw_source_close(source);
    }
}

static void unknown_levels_stay_unknown(void **state)
{
    (void)state;
    cw_error err;
    cw_source *source = NULL;
    size_t count;
    assert_ok(
        open_vcd("$timescale 1 us $end $var wire 1 ! A $end $var wire 1 % B $end $enddefinitions $end\n#5 x!\n#10 "
                 "z!\n#20 1!\n#30 -! 1%\n#40 U!\n#50 0!\n",
                 &source, &err),
        &err);
    static const cw_edge a[] = {{5e-6, -1}, {20e-6, 1}, {30e-6, -1}, {50e-6, 0}}, b[] = {{5e-6, -1}, {30e-6, 1}};
    const cw_edge *edges = cw_source_edges(source, 0, &count);
    assert_int_equal(count, CW_COUNT(a));
    for (size_t i = 0; i < count; i++)
        assert_true(edges[i].at_s == a[i].at_s && edges[i].level == a[i].level);
    edges = cw_source_edges(source, 1, &count);
    assert_int_equal(count, CW_COUNT(b));
    for (size_t i = 0; i < count; i++)
        assert_true(edges[i].at_s == b[i].at_s && edges[i].level == b[i].level);
    cw_source_close(source);
}

/* An analyser at 1 MHz or 12 MHz whose file counts in nanoseconds knows instants no better than its samples. */
static void instants_are_no_finer_than_the_samples(void **state)
{
    (void)state;
    static const struct {
        const char *head;
        unsigned step;
        int count;
        double resolution_s;
    } files[] = {{"", 1000, 40, 1e-6},
                 {"", 1000, 8, 1e-9}, /* too few to tell a grid from chance */
                 {"", 1, 40, 1e-9},
                 {"$comment Acquisition with 2/8 channels at 12 MHz $end ", 1, 40, 1 / 12e6},
                 {"$comment sampled: 500kHz. $end ", 1, 40, 2e-6}};
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        char text[4096];
        cw_error err;
        cw_source *source = NULL;
        size_t n =
            (size_t)snprintf(text, sizeof text, "%s$timescale 1 ns $end $var wire 1 ! A $end $enddefinitions $end\n",
                             files[k].head[0] != '\0' ? files[k].head : "$version x $end ");
        for (int i = 0; i < files[k].count; i++) /* 5, 6, 8, 11, 15 ... steps: no grid but 1 */
            n += (size_t)snprintf(text + n, sizeof text - n, "#%u %d!\n",
                                  files[k].step * (5 + (unsigned)(i * (i + 1) / 2)), i % 2);
        assert_ok(open_vcd(text, &source, &err), &err);
        assert_near(cw_source_about(source)->u_time_s, files[k].resolution_s / sqrt(12), 1e-6 * files[k].resolution_s);
        assert_near(cw_source_about(source)->rate_hz, 1e9, 1e-3);
        cw_source_close(source);
    }
}

static void damaged_dumps_are_refused_in_words(void **state)
{
    (void)state;
    static const char HEAD[] = "$timescale 1 us $end\n$var wire 1 ! A $end\n$enddefinitions $end\n#100 0!\n";
    static const struct {
        bool has_head;
        const char *text, *words;
    } files[] = {
        {false,
         "$timescale 1 us $end $var wire 4 ! data [3:0] $end $var wire 8 % more [7:0] $end $enddefinitions $end #0",
         "only buses (\"more[7:0]\" and more); a sensor is a single line: export the channels one by one"},
        {false, "$timescale 1 us $end $var real 64 ! volts $end $enddefinitions $end #0 r1.5 !\n",
         "only real numbers or texts (\"volts\")"},
        {false, "$timescale $end $var wire 1 ! A $end $enddefinitions $end #0 0!\n",
         "the timescale \"\" is not understood"},
        {false, "$timescale 1 fortnight $end\n", "\"1fortnight\" is not understood"},
        {false, "$timescale 0 us $end\n", "\"0us\" is not understood"},
        {false, "$timescale 1 us $end $var wire none ! A $end", "\"none\" is no size of a variable"},
        {false, "$timescale 1 us $end $var wire 1 ! A", "cut off"},
        {false, "$var wire 1 ! A $end $enddefinitions $end #0 0! #5 1!\n", "no $timescale"},
        {false, "$timescale 1 us $end scope\n", "line 1: \"scope\" where a declaration should be"},
        {true, "#50 1!\n", "line 5: time runs back from 100 to 50"},
        {true, "#200 1!\n#20", "line 6: the VCD is cut off in \"#20\"; export it again"},
        {true, "#200 1!\n#300 b0", "line 6: the VCD ends inside a value; it is cut off"},
        {true, "#200 1!\n#300 0", "line 6: the VCD ends inside a value; it is cut off"},
        {true, "#200 1!\n#300 0%", "line 6: the VCD is cut off in the identifier \"%\""},
        {true, "#200 1!\n#300 0%\n#400\n", "line 6: a value for \"%\", which no $var declares"},
        {true, "#-5 1!\n", "\"#-5\" is no instant"},
        {true, "#12.5 1!\n", "\"#12.5\" is no instant"},
        {true, "#99999999999999999999 1!\n", "is no instant"},
        {true, "$comment without an end", "ends inside a remark; it is cut off"},
        {true, "pU 0\n", "ends inside a value"},
        {true, "on\n", "line 5: \"on\" is neither an instant nor a value"},
    };
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        char text[4096];
        cw_error err;
        cw_source *source = NULL;
        snprintf(text, sizeof text, "%s%s", files[k].has_head ? HEAD : "", files[k].text);
        assert_fails(open_vcd(text, &source, &err), CW_INPUT, &err, files[k].words);
        assert_contains(err.text, "a.vcd");
    }
}

static void more_than_eight_lively_channels_are_named(void **state)
{
    (void)state;
    char text[4096];
    cw_error err;
    cw_source *source = NULL;
    for (unsigned lively = 8; lively <= 9; lively++) {
        size_t n = (size_t)snprintf(text, sizeof text, "$timescale 1 us $end\n");
        for (unsigned i = 0; i < 12; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, "$var wire 1 %c D%u $end\n", 'a' + (int)i, i);
        n += (size_t)snprintf(text + n, sizeof text - n, "$enddefinitions $end\n#0\n");
        for (unsigned i = 0; i < 12; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, "0%c\n", 'a' + (int)i);
        for (unsigned i = 0; i < lively; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, "#%u\n1%c\n", 10 + i, 'l' - (int)i);
        if (lively == 9) {
            assert_fails(open_vcd(text, &source, &err), CW_INPUT, &err, "9 channels change in this VCD (D3, D4, D5");
            continue;
        }
        assert_ok(open_vcd(text, &source, &err), &err);
        assert_int_equal(cw_source_about(source)->channels, 8);
        assert_string_equal(cw_source_about(source)->names[0], "D4");
        assert_contains(cw_source_about(source)->warnings[0], "4 channels that never change are left out");
        cw_source_close(source);
    }
}

CHECK_MAIN(cmocka_unit_test(every_form_gives_the_same_releases), cmocka_unit_test(unknown_levels_stay_unknown),
           cmocka_unit_test(instants_are_no_finer_than_the_samples),
           cmocka_unit_test(damaged_dumps_are_refused_in_words),
           cmocka_unit_test(more_than_eight_lively_channels_are_named))
