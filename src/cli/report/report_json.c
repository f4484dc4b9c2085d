#include "board/board.h"
#include "cli/message/caution.h"
#include "cli/message/flash.h"
#include "cli/message/json_values.h"
#include "cli/message/text.h"
#include "cli/prop/prop.h"
#include "cli/report/report.h"
#include "cli/report/report_board.h"
#include "pack/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static json_t*
takes_of(const Report* report) {
  json_t* const takes = json_array();
  for (size_t i = 0; i < report->n_inputs; ++i) {
    json_array_append_new(takes, json_of_text(report->inputs[i].path));
  }
  return takes;
}

static void
add_facts(json_t* shot, const VwShotFacts* facts) {
  json_set_text(shot, "kind", vw_kind_name(facts->kind));
  json_set_number(shot, "attack_ms", facts->attack_ms);
  json_set_number(shot, "crest_ms", facts->crest_ms);
  json_set_number(shot, "end_ms", facts->end_ms);
  json_set_number(shot, "valley_ms", facts->valley_ms);
  json_set_number(shot, "length_ms", facts->length_ms);
  json_set_number(shot, "rise_ms", facts->rise_ms);
  json_object_set_new(shot, "slow_attack", json_boolean(facts->slow));
  json_set_number(shot, "decay_t20_s", facts->decay_t20_s);
  json_set_number(shot, "decay_t30_s", facts->decay_t30_s);
  json_set_number(shot, "pitch_attack_hz", facts->pitch_attack_hz);
  json_set_number(shot, "pitch_tail_hz", facts->pitch_tail_hz);
  json_set_number(shot, "noise_floor_dbfs", facts->noise_floor_dbfs);
  json_set_number(shot, "dc_offset", facts->dc_offset);
  json_set_count(shot, "clipped_frames", facts->n_clipped_frames);
  json_set_count(shot, "shots_in_take", facts->shots_in_take);
  json_set_number(
    shot, "fastest_fire_rate_per_s", facts->fastest_fire_rate_per_s);
}

static json_t*
shot_of(const Report* report, size_t index) {
  if (report->inputs[index].status || !report->inputs[index].has_shot) {
    return json_null();
  }
  const VwFamily* const family = report->family;
  const bool            burst = family && family->plan.shots;
  json_t* const         shot = json_object();
  add_facts(shot, &report->inputs[index].facts);
  json_set_number(shot,
                  "late_start_ms",
                  !burst           ? (double)NAN
                  : report->packed ? report->packed->sound->late_start_ms
                                   : family->uses[index].late_start_ms);
  return shot;
}

/// Where takes take turns, the shot of each in the order of `takes`.
static json_t*
shots_of(const Report* report) {
  json_t* const shots = json_array();
  for (size_t i = 0; i < report->n_inputs; ++i) {
    json_array_append_new(shots, shot_of(report, i));
  }
  return shots;
}

static void
add_plan(json_t* loop, const VwPlan* plan) {
  json_set_number(loop, "fire_rate_asked_per_s", plan->fire_rate_asked_per_s);
  json_object_set_new(loop, "fire_rate_chosen", json_boolean(plan->chosen));
  json_set_number(loop, "fire_rate_per_s", plan->fire_rate_per_s);
  json_set_number(loop, "fire_rate_error_ppm", plan->error_ppm);
  json_set_count(loop, "shots", plan->shots);
  json_set_count(loop, "frames", plan->n_frames - plan->gap_frames);
  json_set_number(loop, "period_ms", 1000.0 / plan->fire_rate_per_s);
  json_set_number(
    loop, "gap_ms", 1000.0 * (double)plan->gap_frames / plan->rate_hz);
  json_object_set_new(loop, "gap_heard", json_boolean(plan->uneven));
  json_set_number(loop, "plain_fire_rate_per_s", plan->plain_fire_rate_per_s);
  json_set_number(loop, "even_fire_rate_per_s", plan->even_fire_rate_per_s);
}

/// What the board makes of a loop.
static void
add_heard(json_t* loop, const Report* report) {
  const VwFamily* const family = report->family;
  json_set_number(loop, "gap_depth_db", family->gap_depth_db);
  json_set_number(loop, "run_in_left_db", family->run_in_left_db);
  json_set_count(loop, "buffer_frames", report->settings->family.buffer_frames);
  json_set_number(loop, "overrun_ms", report_overrun_ms(report));
}

static json_t*
board_of(const VwBoard* board) {
  static const char* const containers[] = {
    "wav", "ogg", "flac", "raw", "c-array"};

  json_t* const made = json_object();
  json_set_text(made, "name", board->name);
  json_set_text(made, "container", containers[board->container]);
  json_set_text(made, "repeat", report_repeat_word(board->repeat));
  json_set_text(made,
                "release",
                board->release == VW_RELEASE_FINISHES ? "finishes" : "stops");
  json_set_number(made, "gap_ms", board->gap_ms);
  json_set_count(made, "file_bytes_max", (size_t)board->file_bytes_max);
  return made;
}

static json_t*
loop_of(const Report* report) {
  const VwFamily* const family = report->family;
  if (!family || !family->plan.shots) {
    return json_null();
  }
  json_t* const loop = json_object();
  add_plan(loop, &family->plan);
  json_set_count(loop, "run_in_shots", family->run_in_shots);
  json_set_number(loop, "valley_db", family->valley_db);
  json_set_number(loop, "tightening_db", family->tightening_db);
  json_set_number(loop, "join_residual_db", family->join_residual_db);
  json_set_text(
    loop, "tail", family->tail == VW_TAIL_CHOKE ? "choke" : "overlap");
  json_set_text(loop, "form", vw_form_name(family->form));
  add_heard(loop, report);
  return loop;
}

static json_t*
level_of(const Report* report) {
  if (!report->family) {
    return json_null();
  }
  const VwLevel* const level = &report->family->level;
  json_t* const        made = json_object();
  json_set_number(made, "before_lufs", level->before_lufs);
  json_set_number(made, "shot_loudness_lufs", level->shot_loudness_lufs);
  json_set_number(made, "burst_loudness_lufs", level->burst_loudness_lufs);
  json_set_number(made, "target_lufs", level->target_lufs);
  json_object_set_new(made, "reached", json_boolean(level->reached));
  json_set_number(made, "gain_db", level->gain_db);
  json_set_number(made, "limiting_db", level->limiting_db);
  json_set_number(made, "limiting_ms", level->limiting_ms);
  json_set_number(made, "limiting_needed_db", level->limiting_needed_db);
  json_set_number(made, "true_peak_dbtp", level->true_peak_dbtp);
  json_set_number(
    made, "ceiling_dbtp", report->settings->family.level.ceiling_dbtp);
  return made;
}

/// Of the take as it came, or of the first where they take turns.
static json_t*
loudness_of(const Report* report) {
  const Input* const input = &report->inputs[0];
  if (!input->has_loudness) {
    return json_null();
  }
  const VwLoudness* const of = &input->loudness;
  json_t* const           made = json_object();
  json_set_number(made, "integrated_lufs", of->integrated_lufs);
  json_set_number(made, "momentary_max_lufs", of->momentary_max_lufs);
  json_set_number(made, "short_term_max_lufs", of->short_term_max_lufs);
  json_set_number(made, "range_lu", of->range_lu);
  json_set_number(made, "true_peak_dbtp", of->true_peak_dbtp);
  json_set_number(made, "crest_factor_db", of->crest_factor_db);
  json_set_number(made, "energy_below_350hz", of->energy_below_350hz);
  json_set_number(made, "energy_below_800hz", of->energy_below_800hz);
  return made;
}

static json_t*
lamp_of(const VwFamily* family) {
  if (!family || !family->plan.shots) {
    return json_null();
  }
  const char* const caution = caution_flash(family->lamp.pulse_hz);
  json_t* const     lamp = json_object();
  json_set_number(lamp, "pulse_hz", family->lamp.pulse_hz);
  json_set_number(lamp, "period_ms", family->lamp.period_ms);
  json_set_number(lamp, "on_ms", family->lamp.on_ms);
  json_set_number(lamp, "duty", family->lamp.duty);
  json_set_text(lamp, "on_reason", flash_reason_key(family->on_time.reason));
  json_set_number(lamp, "shot_near_ms", family->on_time.near_ms);
  json_object_set_new(lamp, "track", json_of_track(&family->lamp_track));
  json_set_text(lamp, "caution", caution);
  return lamp;
}

static json_t*
cautions_of(const VwFamily* family) {
  return !family              ? json_null()
         : family->plan.shots ? json_of_cautions(family->lamp.pulse_hz)
                              : json_of_cautions(0.0);
}

static json_t*
file_of(const MadeFile* file, const VwFamily* family) {
  json_t* const made = json_object();
  json_set_text(made, "part", vw_part_name(file->part));
  json_set_text(made, "path", file->path);
  json_set_count(made, "frames", file->n_frames);
  json_set_count(made, "bytes", file->bytes.n_bytes);
  json_set_count(made, "sample_rate_hz", file->rate_hz);
  json_set_count(made, "channels", file->n_channels);
  json_set_text(made, "encoding", vw_encoding_name(family->format.encoding));
  return made;
}

static json_t*
files_of(const Report* report) {
  json_t* const files = json_array();
  for (size_t i = 0; !report->status && i < report->n_files; ++i) {
    json_array_append_new(files, file_of(&report->files[i], report->family));
  }
  return files;
}

/// A warning, named after its take where there are several.
static json_t*
warning_of(const Report* report, const Warning* warning) {
  char* const   named = warning->take && report->n_inputs > 1U
                          ? text_format("%s: %s", warning->take, warning->text)
                          : NULL;
  json_t* const made = json_of_text(named ? named : warning->text);
  free(named);
  return made;
}

static json_t*
warnings_of(const Report* report) {
  json_t* const warnings = json_array();
  for (size_t i = 0; i < report->n_warnings; ++i) {
    json_array_append_new(warnings, warning_of(report, &report->warnings[i]));
  }
  return warnings;
}

/* Packs */

/// What a sound of a pack has beside what any has.
static void
add_packed(json_t* object, const PackedSound* packed) {
  const VwPackSound* const sound = packed->sound;
  const VwSoundWish* const wish = sound->wish;
  json_set_text(object, "sound", wish->name);
  json_set_text(object, "make", prop_make_word(wish->make));
  json_object_set_new(
    object, "slot", wish->slot ? json_of_count(wish->slot) : json_null());
  json_set_text(object, "group", wish->group);
  json_set_number(object, "offset_lu", wish->offset_lu);
  json_set_number(object, "reach_lufs", sound->reach_lufs);
  json_set_number(object, "lacks_lu", sound->lacks_lu);
}

static json_t*
old_of(const VwPack* pack) {
  json_t* const files = json_array();
  for (size_t i = 0; i < pack->n_old; ++i) {
    const VwPackOld* const old = &pack->old[i];
    json_array_append_new(files,
                          json_pack("{s:o, s:b, s:b}",
                                    "path",
                                    json_of_text(old->name),
                                    "changed",
                                    old->changed,
                                    "removed",
                                    old->removed));
  }
  return files;
}

static void
add_sums(json_t* object, const VwPackSums* sums) {
  json_set_number(object, "loudness_lufs", sums->loudness_lufs);
  json_set_number(object, "loudest_lufs", sums->loudest_lufs);
  json_set_number(object, "all_reach_lufs", sums->all_reach_lufs);
  json_set_count(object, "families", sums->n_families);
  json_set_count(object, "families_softer", sums->n_lacking);
  json_set_count(object, "sounds_failed", sums->n_failed);
  json_set_count(object, "files_total", sums->n_files);
  json_set_count(object, "bytes", sums->n_bytes);
  json_set_count(object, "bytes_on_card", sums->n_bytes_on_card);
  json_set_count(object, "bytes_over", sums->n_bytes_over);
  json_set_count(object, "files_over", sums->n_files_over);
}

static json_t*
cautions_of_pack(const VwPack* pack) {
  double most_hz = 0.0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwFamily* const family = &pack->sounds[i].family;
    if (!pack->sounds[i].status && family->plan.shots) {
      most_hz = fmax(most_hz, family->lamp.pulse_hz);
    }
  }
  return json_of_prop_cautions(most_hz);
}

bool
report_json_pack(const VwPack* pack, bool written, FILE* out) {
  const uint64_t capacity = pack->options.board->capacity_bytes;
  json_t* const  object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_set_text(object, "command", "pack");
  json_object_set_new(object, "board", board_of(pack->options.board));
  json_set_text(object, "folder", pack->options.folder);
  json_object_set_new(object, "written", json_boolean(written));
  json_set_count(object, "sounds_total", pack->n_sounds);
  add_sums(object, &pack->sums);
  json_object_set_new(
    object, "capacity_bytes", capacity ? json_of_count(capacity) : json_null());
  json_object_set_new(object, "cautions", cautions_of_pack(pack));
  json_object_set_new(object, "left_over", old_of(pack));
  return json_print(object, out);
}

static json_t*
object_of(const Report* report) {
  json_t* const object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_set_text(object, "command", report->command->name);
  if (report->packed) {
    add_packed(object, report->packed);
  }
  json_object_set_new(object, "takes", takes_of(report));
  json_object_set_new(
    object, "error", json_of_error(report->status, report->message));
  json_object_set_new(object, "shot", shot_of(report, 0));
  if (report->settings->loop.take_turns) {
    json_object_set_new(object, "shot_of_each", shots_of(report));
  }
  json_object_set_new(object,
                      "board",
                      report->settings->has_board
                        ? board_of(&report->settings->board)
                        : json_null());
  json_object_set_new(object, "loudness", loudness_of(report));
  json_object_set_new(object, "loop", loop_of(report));
  json_object_set_new(object, "level", level_of(report));
  json_object_set_new(object, "lamp", lamp_of(report->family));
  json_object_set_new(object, "cautions", cautions_of(report->family));
  json_object_set_new(object, "files", files_of(report));
  json_object_set_new(object, "warnings", warnings_of(report));
  return object;
}

bool
report_json(const Report* report, FILE* out) {
  return json_print(object_of(report), out);
}
