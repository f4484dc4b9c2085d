#include "plot_family.h"

#include "caution.h"
#include "line.h"

#include <stdlib.h>
#include <string.h>

VwStatus
plot_family_heard(const VwFamily* family,
                  const VwSound*  piece,
                  VwSound*        heard) {
  if (family->lamp_track.pulses) {
    return vw_sound_channel(piece, 0U, heard);
  }
  VwSound        copy = {0};
  const VwStatus st =
    vw_sound_init(&copy, piece->n_frames, piece->n_channels, piece->rate_hz);
  if (!st) {
    memcpy(copy.values,
           piece->values,
           piece->n_frames * piece->n_channels * sizeof(float));
    *heard = copy;
  }
  return st;
}

void
plot_family_level(Scene* scene, const VwFamily* family) {
  const VwFormat* const format = &family->format;
  const VwLevel* const  level = &family->level;
  const bool            whole = family->pieces[0].part == VW_PART_WHOLE;
  char                  peak[40];
  char                  loudness[40];
  scene_fact(
    scene,
    scene_text(scene,
               "%s, %u Hz, %s; gain %.1f dB, limiting %.1f dB for %.1f ms; "
               "%s %s, true peak %s",
               format->n_channels == 1U ? "mono" : "stereo",
               format->rate_hz,
               vw_encoding_name(format->encoding),
               level->gain_db,
               level->limiting_db,
               level->limiting_ms,
               whole ? "sound" : "shot",
               line_value(loudness, level->shot_loudness_lufs, 1, "LUFS"),
               line_value(peak, level->true_peak_dbtp, 1, "dBTP")));
}

void
plot_family_caution(Scene* scene) {
  scene_note(scene, scene_text(scene, "CAUTION: %s.", caution_hearing()));
}
