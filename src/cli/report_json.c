#include "report.h"

#include "report_board.h"
#include "status.h"
#include "text.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Digits that tell any two doubles apart (IEEE 754-2019, 5.12.2).
#define DIGITS 17

/// A number, or null where it does not exist.
static json_t*
number(double value) {
  return isfinite(value) ? json_real(value) : json_null();
}

static void
set_number(json_t* object, const char* name, double value) {
  json_object_set_new(object, name, number(value));
}

static json_t*
count(size_t n) {
  return json_integer((json_int_t)n);
}

/// Text; bytes that are no UTF-8 are made safe.
static json_t*
string(const char* text) {
  json_t* const plain = json_string(text);
  if (plain) {
    return plain;
  }
  char* const   safe = text_safe(text);
  json_t* const made = json_string(safe ? safe : "");
  free(safe);
  return made;
}

/// A text, or null where there is none.
static void
set_text(json_t* object, const char* name, const char* text) {
  json_object_set_new(object, name, text ? string(text) : json_null());
}

static json_t*
error_of(const Report* report) {
  return report->status
           ? json_pack("{s:s, s:o}",
                       "status",
                       status_word(report->status),
                       "message",
                       string(report->message ? report->message : ""))
           : json_null();
}

static json_t*
takes_of(const Report* report) {
  json_t* const takes = json_array();
  for (size_t i = 0; i < report->n_inputs; ++i) {
    json_array_append_new(takes, string(report->inputs[i].path));
  }
  return takes;
}

static void
add_facts(json_t* shot, const VwShotFacts* facts) {
  set_text(shot, "kind", vw_kind_name(facts->kind));
  set_number(shot, "attack_ms", facts->attack_ms);
  set_number(shot, "length_ms", facts->length_ms);
  set_number(shot, "rise_ms", facts->rise_ms);
  json_object_set_new(shot, "slow_attack", json_boolean(facts->slow));
  set_number(shot, "decay_t20_s", facts->decay_t20_s);
  set_number(shot, "decay_t30_s", facts->decay_t30_s);
  set_number(shot, "pitch_attack_hz", facts->pitch_attack_hz);
  set_number(shot, "pitch_tail_hz", facts->pitch_tail_hz);
  set_number(shot, "noise_floor_dbfs", facts->noise_floor_dbfs);
  set_number(shot, "dc_offset", facts->dc_offset);
  json_object_set_new(shot, "clipped_frames", count(facts->n_clipped_frames));
  json_object_set_new(shot, "shots_in_take", count(facts->shots_in_take));
  set_number(shot, "fastest_fire_rate_per_s", facts->fastest_fire_rate_per_s);
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
  set_number(shot,
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
  set_number(loop, "fire_rate_asked_per_s", plan->fire_rate_asked_per_s);
  json_object_set_new(loop, "fire_rate_chosen", json_boolean(plan->chosen));
  set_number(loop, "fire_rate_per_s", plan->fire_rate_per_s);
  set_number(loop, "fire_rate_error_ppm", plan->error_ppm);
  json_object_set_new(loop, "shots", count(plan->shots));
  json_object_set_new(loop, "frames", count(plan->n_frames - plan->gap_frames));
  set_number(loop, "period_ms", 1000.0 / plan->fire_rate_per_s);
  set_number(loop, "gap_ms", 1000.0 * (double)plan->gap_frames / plan->rate_hz);
  json_object_set_new(loop, "gap_heard", json_boolean(plan->uneven));
  set_number(loop, "plain_fire_rate_per_s", plan->plain_fire_rate_per_s);
  set_number(loop, "even_fire_rate_per_s", plan->even_fire_rate_per_s);
}

/// What the board makes of a loop.
static void
add_heard(json_t* loop, const Report* report) {
  const VwFamily* const family = report->family;
  set_number(loop, "gap_depth_db", family->gap_depth_db);
  set_number(loop, "run_in_left_db", family->run_in_left_db);
  json_object_set_new(
    loop, "buffer_frames", count(report->settings->family.buffer_frames));
  set_number(loop, "overrun_ms", report_overrun_ms(report));
}

static json_t*
board_of(const VwBoard* board) {
  static const char* const containers[] = {
    "wav", "ogg", "flac", "raw", "c-array"};

  json_t* const made = json_object();
  json_object_set_new(made, "name", string(board->name));
  set_text(made, "container", containers[board->container]);
  set_text(made, "repeat", report_repeat_word(board->repeat));
  set_text(made,
           "release",
           board->release == VW_RELEASE_FINISHES ? "finishes" : "stops");
  set_number(made, "gap_ms", board->gap_ms);
  json_object_set_new(
    made, "file_bytes_max", count((size_t)board->file_bytes_max));
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
  json_object_set_new(loop, "run_in_shots", count(family->run_in_shots));
  set_number(loop, "valley_db", family->valley_db);
  set_number(loop, "tightening_db", family->tightening_db);
  set_number(loop, "join_residual_db", family->join_residual_db);
  set_text(loop, "tail", family->tail == VW_TAIL_CHOKE ? "choke" : "overlap");
  set_text(loop, "form", vw_form_name(family->form));
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
  set_number(made, "before_lufs", level->before_lufs);
  set_number(made, "shot_loudness_lufs", level->shot_loudness_lufs);
  set_number(made, "burst_loudness_lufs", level->burst_loudness_lufs);
  set_number(made, "target_lufs", level->target_lufs);
  json_object_set_new(made, "reached", json_boolean(level->reached));
  set_number(made, "gain_db", level->gain_db);
  set_number(made, "limiting_db", level->limiting_db);
  set_number(made, "limiting_ms", level->limiting_ms);
  set_number(made, "limiting_needed_db", level->limiting_needed_db);
  set_number(made, "true_peak_dbtp", level->true_peak_dbtp);
  set_number(made, "ceiling_dbtp", report->settings->family.level.ceiling_dbtp);
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
  set_number(made, "integrated_lufs", of->integrated_lufs);
  set_number(made, "momentary_max_lufs", of->momentary_max_lufs);
  set_number(made, "short_term_max_lufs", of->short_term_max_lufs);
  set_number(made, "range_lu", of->range_lu);
  set_number(made, "true_peak_dbtp", of->true_peak_dbtp);
  set_number(made, "crest_factor_db", of->crest_factor_db);
  set_number(made, "energy_below_350hz", of->energy_below_350hz);
  set_number(made, "energy_below_800hz", of->energy_below_800hz);
  return made;
}

static json_t*
lamp_track_of(const VwLampTrack* track) {
  if (!track->pulses) {
    return json_null();
  }
  json_t* const made = json_object();
  json_object_set_new(made, "channel", json_integer(2));
  set_number(made, "tone_hz", track->tone_hz);
  set_number(made, "level_dbfs", track->level_dbfs);
  set_number(made, "on_ms", track->on_ms);
  json_object_set_new(made, "pulses", count(track->pulses));
  return made;
}

static json_t*
lamp_of(const VwFamily* family) {
  if (!family || !family->plan.shots) {
    return json_null();
  }
  const char* const caution = report_caution(family);
  json_t* const     lamp = json_object();
  set_number(lamp, "pulse_hz", family->lamp.pulse_hz);
  set_number(lamp, "period_ms", family->lamp.period_ms);
  set_number(lamp, "on_ms", family->lamp.on_ms);
  set_number(lamp, "duty", family->lamp.duty);
  json_object_set_new(lamp, "track", lamp_track_of(&family->lamp_track));
  set_text(lamp, "caution", caution);
  return lamp;
}

static json_t*
file_of(const MadeFile* file, const VwFamily* family) {
  json_t* const made = json_object();
  set_text(made, "part", vw_part_name(file->part));
  json_object_set_new(made, "path", string(file->path));
  json_object_set_new(made, "frames", count(file->n_frames));
  json_object_set_new(made, "bytes", count(file->bytes.n_bytes));
  json_object_set_new(made, "sample_rate_hz", count(file->rate_hz));
  json_object_set_new(made, "channels", count(file->n_channels));
  set_text(made, "encoding", vw_encoding_name(family->format.encoding));
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
  json_t* const made = string(named ? named : warning->text);
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
  static const char* const makes[] = {"shot", "loop", "burst", "whole"};
  const VwPackSound* const sound = packed->sound;
  const VwSoundWish* const wish = sound->wish;
  json_object_set_new(object, "sound", string(wish->name));
  set_text(object, "make", makes[wish->make]);
  json_object_set_new(
    object, "slot", wish->slot ? count(wish->slot) : json_null());
  set_text(object, "group", wish->group);
  set_number(object, "offset_lu", wish->offset_lu);
  set_number(object, "reach_lufs", sound->reach_lufs);
  set_number(object, "lacks_lu", sound->lacks_lu);
}

static json_t*
old_of(const VwPack* pack) {
  json_t* const files = json_array();
  for (size_t i = 0; i < pack->n_old; ++i) {
    const VwPackOld* const old = &pack->old[i];
    json_array_append_new(files,
                          json_pack("{s:o, s:b, s:b}",
                                    "path",
                                    string(old->name),
                                    "changed",
                                    old->changed,
                                    "removed",
                                    old->removed));
  }
  return files;
}

static void
add_sums(json_t* object, const VwPackSums* sums) {
  set_number(object, "loudness_lufs", sums->loudness_lufs);
  set_number(object, "loudest_lufs", sums->loudest_lufs);
  set_number(object, "all_reach_lufs", sums->all_reach_lufs);
  json_object_set_new(object, "families", count(sums->n_families));
  json_object_set_new(object, "families_softer", count(sums->n_lacking));
  json_object_set_new(object, "sounds_failed", count(sums->n_failed));
  json_object_set_new(object, "files_total", count(sums->n_files));
  json_object_set_new(object, "bytes", count(sums->n_bytes));
  json_object_set_new(object, "bytes_on_card", count(sums->n_bytes_on_card));
  json_object_set_new(object, "bytes_over", count(sums->n_bytes_over));
  json_object_set_new(object, "files_over", count(sums->n_files_over));
}

static bool
print(json_t* object, FILE* out) {
  char* const line = json_dumps(object, JSON_REAL_PRECISION(DIGITS));
  if (line) {
    fprintf(out, "%s\n", line);
  }
  free(line);
  json_decref(object);
  return line != NULL;
}

bool
report_json_pack(const VwPack* pack, bool written, FILE* out) {
  const uint64_t capacity = pack->options.board->capacity_bytes;
  json_t* const  object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  set_text(object, "command", "pack");
  json_object_set_new(object, "board", board_of(pack->options.board));
  json_object_set_new(object, "folder", string(pack->options.folder));
  json_object_set_new(object, "written", json_boolean(written));
  json_object_set_new(object, "sounds_total", count(pack->n_sounds));
  add_sums(object, &pack->sums);
  json_object_set_new(
    object, "capacity_bytes", capacity ? count(capacity) : json_null());
  json_object_set_new(object, "left_over", old_of(pack));
  return print(object, out);
}

static json_t*
object_of(const Report* report) {
  json_t* const object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  set_text(object, "command", report->command->name);
  if (report->packed) {
    add_packed(object, report->packed);
  }
  json_object_set_new(object, "takes", takes_of(report));
  json_object_set_new(object, "error", error_of(report));
  json_object_set_new(object, "shot", shot_of(report, 0));
  if (report->settings->take_turns) {
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
  json_object_set_new(object, "files", files_of(report));
  json_object_set_new(object, "warnings", warnings_of(report));
  return object;
}

bool
report_json(const Report* report, FILE* out) {
  return print(object_of(report), out);
}
