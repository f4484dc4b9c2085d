#include "cli/plot/plot_family.h"

#include "cli/message/caution.h"
#include "cli/message/line.h"
#include "cli/report/warnings.h"
#include "signal/signal.h"

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
  char                  limiting[40];
  scene_fact(
    scene,
    scene_text(scene,
               "%s, %u Hz, %s; gain %.1f dB, limiting %.1f dB for %s%s; "
               "%s %s, true peak %s",
               format->n_channels == 1U ? "mono" : "stereo",
               format->rate_hz,
               vw_encoding_name(format->encoding),
               level->gain_db,
               level->limiting_db,
               line_duration(limiting, level->limiting_ms),
               family->n_pieces > 1U ? " in all files" : "",
               whole ? "sound" : "shot",
               line_value(loudness, level->shot_loudness_lufs, 1, "LUFS"),
               line_value(peak, level->true_peak_dbtp, 1, "dBTP")));
}

void
plot_family_warnings(Scene* scene, const Report* report) {
  const Input* const    input = &report->inputs[0];
  const VwFamily* const family = report->family;
  const Facts           of = {
              report, input, &input->facts, family ? &family->uses[0] : NULL, family};
  size_t                   n = 0;
  const WarningKind* const kinds = warnings_of_take(&n);
  for (size_t i = 0; i < n; ++i) {
    char* const text = kinds[i].find(&of);
    if (text) {
      scene_fact(scene, scene_text(scene, "warning: %s", text));
    }
    free(text);
  }
}

void
plot_family_caution(Scene* scene) {
  scene_note(scene, scene_text(scene, "CAUTION: %s.", caution_hearing()));
}
