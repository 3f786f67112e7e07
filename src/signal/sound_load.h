/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound of a shutter in memory: one channel of a sound file (WAV, FLAC, Ogg Vorbis and Opus, MP3, as libsndfile
 * reads them). */
#ifndef CW_SIGNAL_SOUND_LOAD_H
#define CW_SIGNAL_SOUND_LOAD_H

#include <stddef.h>

#include "base/error.h"

enum { CW_SOUND_LENGTH_MOST_S = 600, CW_SOUND_CHANNELS_MOST = 64 };

typedef struct {
    float *samples; /* of the channel chosen, 1 = full scale */
    size_t count;
    double rate_hz, length_s;
    size_t channels, channel; /* in the file; the one read, from 1 */
    double clipped;           /* part of the samples at the end of their scale, 0 to 1 */
} cw_sound;

/* channel: from 1; 0: the one with the most energy. CW_INPUT: no sound file, with what it looks like where that is
 * known (phones write MP4), cut off, no such channel; CW_RANGE: longer than CW_SOUND_LENGTH_MOST_S. The caller frees
 * *sound. */
cw_status cw_sound_load(const char *path, size_t channel, cw_sound *sound, cw_error *err)
    __attribute__((warn_unused_result));
void cw_sound_free(cw_sound *sound);

#endif
