#include "cli/message/caution.h"
#include "cli/packing/pack_report.h"
#include "cli/packing/pack_sound.h"
#include "pack/pack.h"

#include <math.h>

bool
pack_report_json_sound(const PackReport*  report,
                       const VwPackSound* sound,
                       FILE*              out) {
  SoundReport made;
  const bool  good =
    sound_report_init(report, sound, &made) && report_json(&made.report, out);
  sound_report_clear(&made);
  return good;
}

/* The whole */

static Figures*
old_of(const VwPack* pack) {
  Figures* const files = figures_list();
  for (size_t i = 0; i < pack->n_old; ++i) {
    const VwPackOld* const old = &pack->old[i];
    Figures* const         made = figures_new();
    figures_set(made, "path", old->name);
    figures_set(made, "changed", old->changed);
    figures_set(made, "removed", old->removed);
    figures_add(files, made);
  }
  return files;
}

static void
add_sums(Figures* all, const VwPackSums* sums) {
  figures_set(all, "loudness_lufs", sums->loudness_lufs);
  figures_set(all, "loudest_lufs", sums->loudest_lufs);
  figures_set(all, "all_reach_lufs", sums->all_reach_lufs);
  figures_set(all, "families", sums->n_families);
  figures_set(all, "families_softer", sums->n_lacking);
  figures_set(all, "sounds_failed", sums->n_failed);
  figures_set(all, "files_total", sums->n_files);
  figures_set(all, "bytes", sums->n_bytes);
  figures_set(all, "bytes_on_card", sums->n_bytes_on_card);
  figures_set(all, "bytes_over", sums->n_bytes_over);
  figures_set(all, "files_over", sums->n_files_over);
}

/// What loud sound, a prop and the fastest lamp need.
static unsigned
cautions_of(const VwPack* pack) {
  double most_hz = 0.0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwFamily* const family = &pack->sounds[i].family;
    if (!pack->sounds[i].status && family->plan.shots) {
      most_hz = fmax(most_hz, family->lamp.pulse_hz);
    }
  }
  return CAUTION_HEARING | CAUTION_LOOK_ALIKE | caution_of_flashes(most_hz);
}

static bool
print_whole(const VwPack* pack, bool written, FILE* out) {
  const VwBoard* const board = pack->options.board;
  Figures* const       all = figures_of_command("pack");
  figures_set(all, "board", report_board(board));
  figures_set(all, "folder", pack->options.folder);
  figures_set(all, "written", written);
  figures_set(all, "sounds_total", pack->n_sounds);
  add_sums(all, &pack->sums);
  figures_set_some(all, "capacity_bytes", board->capacity_bytes);
  figures_set(all, "cautions", caution_figures(cautions_of(pack)));
  figures_set(all, "left_over", old_of(pack));
  return figures_json(all, out);
}

bool
pack_report_json(const PackReport* report, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < report->pack->n_sounds; ++i) {
    good = pack_report_json_sound(report, &report->pack->sounds[i], out);
  }
  return good && print_whole(report->pack, report->written, out);
}
