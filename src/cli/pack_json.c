#include "pack_report.h"

#include "report.h"
#include "status.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>

/// The files of a sound as reports have them. To be freed; NULL without memory.
static MadeFile*
files_of(const PackReport* report, const VwPackSound* sound) {
  MadeFile* const files = calloc(sound->n_files + 1U, sizeof(MadeFile));
  for (size_t i = 0; files && i < sound->n_files; ++i) {
    const VwPackFile* const file = &sound->files[i];
    files[i] = (MadeFile){
      .part = file->part,
      .path = text_format("%s/%s", report->pack->options.folder, file->name),
      .bytes.n_bytes = (size_t)file->n_bytes,
      .n_frames = file->n_frames,
      .n_channels = sound->options.format.n_channels,
      .rate_hz = sound->options.format.rate_hz};
  }
  return files;
}

/// The takes of a sound as reports have them; the facts are the first one's.
static Input*
inputs_of(const VwPackSound* sound) {
  const VwSoundWish* const wish = sound->wish;
  Input* const             inputs = calloc(wish->n_takes, sizeof(Input));
  for (size_t i = 0; inputs && i < wish->n_takes; ++i) {
    inputs[i] = (Input){.path = wish->takes[i],
                        .facts = sound->facts,
                        .has_shot = !i && wish->make != VW_MAKE_WHOLE};
  }
  return inputs;
}

/// Put warnings into a report, which does not own them.
static void
set_warnings(const PackWarnings* warnings, Warning* list, Report* shown) {
  for (size_t i = 0; i < warnings->n; ++i) {
    list[i] = (Warning){.text = warnings->texts[i]};
  }
  shown->warnings = list;
  shown->n_warnings = warnings->n;
}

/// The figures of a sound; what only its making tells is unknown before.
static VwFamily
family_of(const PackReport* report, const VwPackSound* sound) {
  VwFamily family = sound->family;
  if (sound->due && !report->written) {
    family.level.gain_db = sound->options.level.gain_db;
    family.level.shot_loudness_lufs = (double)NAN;
    family.level.burst_loudness_lufs = (double)NAN;
    family.level.limiting_db = (double)NAN;
    family.level.limiting_ms = (double)NAN;
    family.level.true_peak_dbtp = (double)NAN;
  }
  return family;
}

static bool
print_sound(const PackReport* report, const VwPackSound* sound, FILE* out) {
  const PackedSound packed = {sound};
  Settings          settings = {.family = sound->options,
                                .has_board = true,
                                .board = *report->pack->options.board,
                                .json = true};
  const VwFamily    family = family_of(report, sound);
  MadeFile* const   files = files_of(report, sound);
  Input* const      inputs = inputs_of(sound);
  Report            shown = {.command = report->command,
                             .settings = &settings,
                             .inputs = inputs,
                             .n_inputs = sound->wish->n_takes,
                             .family = sound->status ? NULL : &family,
                             .packed = &packed,
                             .files = files,
                             .n_files = sound->n_files,
                             .status = sound->status};
  if (inputs && sound->status) {
    inputs[0].status = sound->status;
    shown.message = status_message(sound->status);
  }
  PackWarnings warnings = {.n = 0};
  Warning      list[PACK_WARNINGS_MOST];
  pack_warnings_find(report->pack->options.board, sound, &warnings);
  set_warnings(&warnings, list, &shown);
  const bool good = files && inputs && report_json(&shown, out);
  pack_warnings_clear(&warnings);
  for (size_t i = 0; files && i < sound->n_files; ++i) {
    free(files[i].path);
  }
  free(shown.message);
  free(inputs);
  free(files);
  return good;
}

bool
pack_report_json(const PackReport* report, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < report->pack->n_sounds; ++i) {
    good = print_sound(report, &report->pack->sounds[i], out);
  }
  return good && report_json_pack(report->pack, report->written, out);
}
