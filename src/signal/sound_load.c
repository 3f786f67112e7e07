/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/sound_load.h"

#include <math.h>
#include <sndfile.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "signal/foreign.h"

enum { BLOCK = 16384 };
/* a sample this near the end of the scale counts as clipped */
static const double full_scale = 0.999;

static cw_status not_a_sound(const char *path, cw_error *err)
{
    const char *form = cw_foreign_file(path);
    if (form != NULL)
        return cw_fail(err, CW_INPUT, "this is no sound that is read here but %s", form);
    return cw_fail(err, CW_INPUT,
                   "this is no sound file that can be read (%s); WAV, FLAC, Ogg and MP3 are, WAV is the surest",
                   sf_strerror(NULL));
}

/* Reads `channel` of the file, its energy and clipping; `into` may be NULL when only the energies are wanted. */
typedef struct {
    size_t channels, channel;
    float *into;
    size_t count, clipped;
    double energy[CW_SOUND_CHANNELS_MOST];
} pass;

static bool run(SNDFILE *file, float *block, size_t most, pass *p)
{
    size_t block_frames = BLOCK / p->channels;
    sf_seek(file, 0, SEEK_SET);
    for (;;) {
        sf_count_t got = sf_readf_float(file, block, (sf_count_t)block_frames);
        if (got <= 0)
            return sf_error(file) == SF_ERR_NO_ERROR;
        for (sf_count_t i = 0; i < got; i++) {
            const float *frame = block + (size_t)i * p->channels;
            for (size_t c = 0; p->into == NULL && c < p->channels; c++)
                p->energy[c] += (double)frame[c] * (double)frame[c];
            if (p->into == NULL || p->count >= most)
                continue;
            float value = frame[p->channel - 1];
            p->clipped += fabs((double)value) >= full_scale;
            p->into[p->count++] = value;
        }
    }
}

static size_t loudest(const pass *p)
{
    size_t best = 0;
    for (size_t c = 1; c < p->channels; c++)
        if (p->energy[c] > p->energy[best])
            best = c;
    return best + 1;
}

static cw_status check(const SF_INFO *info, size_t channel, cw_error *err)
{
    if (info->channels < 1 || info->channels > CW_SOUND_CHANNELS_MOST || channel > (size_t)info->channels)
        return cw_fail(err, CW_INPUT, "the sound has %d channels, no channel %zu; up to %d channels are read",
                       info->channels, channel, CW_SOUND_CHANNELS_MOST);
    if (info->samplerate <= 0 || info->frames <= 0)
        return cw_fail(err, CW_INPUT,
                       "the sound file holds no samples; was the recording stopped before it was saved?");
    double length_s = (double)info->frames / info->samplerate;
    if (length_s > CW_SOUND_LENGTH_MOST_S)
        return cw_fail(err, CW_RANGE, "the sound is %.0f s long; up to %d s can be listened to at once", length_s,
                       CW_SOUND_LENGTH_MOST_S);
    return CW_OK;
}

static cw_status read_channel(SNDFILE *file, const SF_INFO *info, size_t channel, cw_sound *sound, cw_error *err)
{
    pass p = {.channels = (size_t)info->channels, .channel = channel};
    size_t most = (size_t)info->frames;
    float *block = malloc(BLOCK * sizeof *block);
    bool whole = block != NULL;
    if (whole && channel == 0 && p.channels > 1)
        whole = run(file, block, most, &p);
    p.channel = channel != 0 ? channel : loudest(&p);
    p.into = malloc(most * sizeof *p.into);
    if (block == NULL || p.into == NULL) {
        free(block);
        free(p.into);
        return cw_fail(err, CW_MEMORY, "no memory for a sound of %zu samples", most);
    }
    whole = whole && run(file, block, most, &p);
    free(block);
    if (!whole || p.count == 0) {
        free(p.into);
        return cw_fail(err, CW_INPUT, "the sound file is damaged or cut off: %s", sf_strerror(file));
    }
    *sound = (cw_sound){.samples = p.into,
                        .count = p.count,
                        .rate_hz = info->samplerate,
                        .length_s = (double)p.count / info->samplerate,
                        .channels = p.channels,
                        .channel = p.channel,
                        .clipped = (double)p.clipped / (double)p.count};
    return CW_OK;
}

cw_status cw_sound_load(const char *path, size_t channel, cw_sound *sound, cw_error *err)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL)
        return not_a_sound(path, err);
    cw_status status = check(&info, channel, err);
    if (status == CW_OK)
        status = read_channel(file, &info, channel, sound, err);
    sf_close(file);
    return status;
}

void cw_sound_free(cw_sound *sound)
{
    free(sound->samples);
    *sound = (cw_sound){0};
}
