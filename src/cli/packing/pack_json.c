#include "cli/packing/pack_report.h"
#include "cli/packing/pack_sound.h"
#include "pack/pack.h"

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

bool
pack_report_json(const PackReport* report, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < report->pack->n_sounds; ++i) {
    good = pack_report_json_sound(report, &report->pack->sounds[i], out);
  }
  return good && report_json_pack(report->pack, report->written, out);
}
