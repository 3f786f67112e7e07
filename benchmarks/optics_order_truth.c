/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How often the search finds the truth, and whether its stated probabilities are honest: every published lens of
 * tests/data/lenses taken apart many times with bench noise, in both puzzle forms.
 *
 *   optics_order_truth [draws]        default 40 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "optics/support.h"

#include "optics/shatter.h"

enum { BINS = 10 };

typedef struct {
    int draws, first, three, decided, wrong, lost;
    double best_probability, misfit;
} tally;

static void one_draw(const cw_lens *lens, const bench_noise *noise, uint64_t seed, tally *t, int hits[BINS],
                     int bins[BINS])
{
    check_random random = {seed};
    shattered s = shatter(lens, noise, &random);
    cw_order_prior prior = cw_order_prior_default();
    cw_order *order;
    cw_error err;
    if (!s.possible)
        return;
    t->draws++;
    if (cw_order_rank(&s.measured, &prior, false, &order, &err) != CW_OK) {
        t->lost++;
        fprintf(stderr, "%s\n", err.text);
        return;
    }
    size_t rank = SIZE_MAX;
    for (size_t i = 0; i < order->count && rank == SIZE_MAX; i++)
        if (is_truth(&s, &order->candidate[i].what))
            rank = i;
    t->first += rank == 0;
    t->three += rank < 3;
    t->decided += order->decided;
    bool settled = rank == 0;
    t->wrong += order->decided && !settled;
    t->best_probability += order->candidate[0].probability;
    t->misfit += rank < order->count ? order->candidate[rank].misfit : 0;
    if (getenv("SHOW") != NULL) {
        printf("   rank %zd p0 %.3f none %.3g", (ssize_t)rank, order->candidate[0].probability,
               order->none_probability);
        for (size_t i = 0; i < order->count && i < 4; i++)
            printf(" | %.1f %.1f p%.3f%s", order->candidate[i].log_first, order->candidate[i].log_rays,
                   order->candidate[i].probability, is_truth(&s, &order->candidate[i].what) ? "*" : "");
        printf("\n");
    }
    int bin = (int)(order->candidate[0].probability * BINS);
    bin = bin >= BINS ? BINS - 1 : bin;
    bins[bin]++;
    hits[bin] += rank == 0;
    cw_order_free(order);
}

int main(int argc, char **argv)
{
    int draws = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 40;
    int hits[BINS] = {0}, bins[BINS] = {0};
    static const bench_noise forms[2] = {{false, 0.005, 0.02, 0.01, 0.15}, {true, 0.005, 0.02, 0.01, 0.1}};
    printf("%-30s %-8s %6s %6s %6s %8s %7s %7s %7s %7s\n", "lens", "form", "draws", "first", "in 3", "decided", "wrong",
           "mean p", "misfit", "s/draw");
    for (size_t i = 0; i < CW_COUNT(every_lens); i++)
        for (int form = 0; form < 2; form++) {
            cw_lens lens = load_lens(every_lens[i]);
            tally t = {0};
            if (form == 1 && !(lens.half_field_deg > 0))
                continue;
            if (argc > 2 && strcmp(argv[2], every_lens[i]) != 0)
                continue;
            clock_t start = clock();
            for (int d = 0; d < draws; d++)
                one_draw(&lens, &forms[form], 1000 * (uint64_t)i + (uint64_t)d + 77, &t, hits, bins);
            if (t.draws > 0)
                printf("%-30s %-8s %6d %5.0f%% %5.0f%% %7.0f%% %7d %7.3f %7.2f %7.3f\n", every_lens[i],
                       form ? "rich" : "plain", t.draws, 100.0 * t.first / t.draws, 100.0 * t.three / t.draws,
                       100.0 * t.decided / t.draws, t.wrong, t.best_probability / t.draws, t.misfit / t.draws,
                       (double)(clock() - start) / CLOCKS_PER_SEC / t.draws);
        }
    printf("\nstated probability of the first candidate against how often it was right\n");
    for (int b = 0; b < BINS; b++)
        if (bins[b] > 0)
            printf("  %.1f to %.1f: %4d of %4d = %.2f\n", b / 10.0, (b + 1) / 10.0, hits[b], bins[b],
                   (double)hits[b] / bins[b]);
    return 0;
}
