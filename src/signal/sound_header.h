/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the room: what the header of a sound file says, checked against the file before libsndfile believes it. */
#ifndef CW_SIGNAL_SOUND_HEADER_H
#define CW_SIGNAL_SOUND_HEADER_H

#include <sndfile.h>
#include <stdbool.h>
#include <stdint.h>

#include "signal/reader.h"

/* Bytes that libsndfile is shown instead of those in the file. */
typedef struct {
    size_t count;
    struct {
        uint64_t at;
        unsigned char bytes[4];
    } patch[2];
} cw_sound_patches;

/* WAV (RIFF, RIFX, RF64, BW64), W64, AIFF, AU, CAF: does the file hold as many bytes of samples as its header promises,
 * and does the header agree with itself? CW_INPUT when not. A length that was never written is read to the end of the
 * file, with a warning and, where libsndfile needs it, a patch. Other kinds pass. */
cw_status cw_sound_check_header(const char *path, const cw_file_head *head, cw_source_info *info,
                                cw_sound_patches *patches, cw_error *err) __attribute__((warn_unused_result));

/* Opens the file through the patches; *shown is to be closed after the SNDFILE. NULL as sf_open. */
typedef struct cw_sound_shown cw_sound_shown;
SNDFILE *cw_sound_open_patched(const char *path, const cw_sound_patches *patches, SF_INFO *shape,
                               cw_sound_shown **shown);
void cw_sound_shown_close(cw_sound_shown *shown); /* NULL is fine */

#endif
