#include "pack/pack_figures.h"

#include "pack/pack.h"
#include "store/digest.h"

#include <inttypes.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

// Digits of a value, and the blank in front.
#define WIDTH 17U

// More files than any sound makes: one a take, or three of a loop.
#define FILES_MOST 67U

typedef enum { REAL, SIZE, WORD, FLAG } Type;

/// A figure of a sound.
typedef struct {
  size_t offset;
  Type   type;
} Field;

#define AT(type, member)                                                       \
  { offsetof(VwPackSound, member), type }

static const Field fields[] = {
  AT(WORD, facts.kind),
  AT(SIZE, facts.attack_frame),
  AT(SIZE, facts.crest_frame),
  AT(SIZE, facts.end_frame),
  AT(REAL, facts.attack_ms),
  AT(REAL, facts.crest_ms),
  AT(REAL, facts.end_ms),
  AT(REAL, facts.valley_ms),
  AT(REAL, facts.length_ms),
  AT(REAL, facts.rise_ms),
  AT(FLAG, facts.slow),
  AT(REAL, facts.decay_t20_s),
  AT(REAL, facts.decay_t30_s),
  AT(REAL, facts.decay_line.from_ms),
  AT(REAL, facts.decay_line.to_ms),
  AT(REAL, facts.decay_line.from_dbfs),
  AT(REAL, facts.decay_line.to_dbfs),
  AT(REAL, facts.pitch_attack_hz),
  AT(REAL, facts.pitch_tail_hz),
  AT(REAL, facts.noise_floor_dbfs),
  AT(REAL, facts.dc_offset),
  AT(SIZE, facts.n_clipped_frames),
  AT(WORD, facts.shots_in_take),
  AT(REAL, facts.fastest_fire_rate_per_s),
  AT(REAL, facts.earlier_sound_db),
  AT(REAL, facts.earlier_sound_ms),
  AT(REAL, facts.cut_off_db),
  AT(WORD, family.format.rate_hz),
  AT(WORD, family.format.n_channels),
  AT(WORD, family.format.encoding),
  AT(WORD, family.format.dither),
  AT(WORD, family.form),
  AT(SIZE, family.n_takes),
  AT(REAL, family.plan.fire_rate_asked_per_s),
  AT(FLAG, family.plan.chosen),
  AT(REAL, family.plan.fire_rate_per_s),
  AT(REAL, family.plan.error_ppm),
  AT(WORD, family.plan.shots),
  AT(FLAG, family.plan.fewer_shots),
  AT(SIZE, family.plan.n_frames),
  AT(SIZE, family.plan.gap_frames),
  AT(FLAG, family.plan.uneven),
  AT(REAL, family.plan.even_fire_rate_per_s),
  AT(REAL, family.plan.plain_fire_rate_per_s),
  AT(WORD, family.plan.rate_hz),
  AT(WORD, family.tail),
  AT(WORD, family.run_in_shots),
  AT(REAL, family.valley_asked_db),
  AT(REAL, family.valley_db),
  AT(REAL, family.tightening_db),
  AT(REAL, family.gap_depth_db),
  AT(REAL, family.run_in_left_db),
  AT(REAL, family.join_residual_db),
  AT(REAL, family.level.before_lufs),
  AT(REAL, family.level.shot_loudness_lufs),
  AT(REAL, family.level.burst_loudness_lufs),
  AT(REAL, family.level.target_lufs),
  AT(REAL, family.level.gain_db),
  AT(REAL, family.level.limiting_db),
  AT(REAL, family.level.limiting_ms),
  AT(REAL, family.level.limiting_needed_db),
  AT(REAL, family.level.true_peak_dbtp),
  AT(FLAG, family.level.reached),
  AT(REAL, family.lamp.pulse_hz),
  AT(REAL, family.lamp.period_ms),
  AT(REAL, family.lamp.on_ms),
  AT(REAL, family.lamp.duty),
  AT(REAL, family.on_time.on_ms),
  AT(REAL, family.on_time.near_ms),
  AT(WORD, family.on_time.reason),
  AT(REAL, family.lamp_track.tone_hz),
  AT(REAL, family.lamp_track.level_dbfs),
  AT(REAL, family.lamp_track.on_ms),
  AT(WORD, family.lamp_track.pulses),
  AT(REAL, late_start_ms),
  AT(WORD, downmix),
  AT(REAL, kept[0]),
  AT(REAL, kept[1]),
  AT(REAL, kept[2]),
  AT(REAL, kept[3]),
  AT(REAL, kept[4]),
  AT(REAL, kept[5]),
  AT(REAL, kept[6]),
  AT(REAL, kept[7]),
};

#define N_FIELDS (sizeof(fields) / sizeof(fields[0]))

/* Values */

static size_t
size_of(Type type) {
  switch (type) {
    case REAL:
      return sizeof(double);
    case SIZE:
      return sizeof(size_t);
    case WORD:
      return sizeof(unsigned);
    case FLAG:
      break;
  }
  return sizeof(bool);
}

/// The bits of a figure. Low ends come first on what this runs on; elsewhere
/// they are read back just as they were written.
static uint64_t
get(const VwPackSound* sound, const Field* field) {
  uint64_t value = 0;
  memcpy(&value, (const char*)sound + field->offset, size_of(field->type));
  return value;
}

static void
set(VwPackSound* sound, const Field* field, uint64_t value) {
  const bool  flag = value != 0U;
  char* const at = (char*)sound + field->offset;
  if (field->type == FLAG) {
    memcpy(at, &flag, sizeof(flag));
  } else {
    memcpy(at, &value, size_of(field->type));
  }
}

static uint64_t
bits_of(double real) {
  uint64_t value = 0;
  memcpy(&value, &real, sizeof(value));
  return value;
}

static double
real_of(uint64_t bits) {
  double real = 0.0;
  memcpy(&real, &bits, sizeof(real));
  return real;
}

/* Print */

static void
put(FILE* out, uint64_t value) {
  fprintf(out, " %016" PRIx64, value);
}

static void
put_curve(FILE* out, const VwLevelCurve* curve) {
  put(out, curve->n);
  for (size_t i = 0; i < curve->n; ++i) {
    put(out, bits_of(curve->gain_db[i]));
    put(out, bits_of(curve->lufs[i]));
  }
}

static void
put_files(FILE* out, const VwPackSound* sound) {
  put(out, sound->n_files);
  for (size_t i = 0; i < sound->n_files; ++i) {
    const VwPackFile* const file = &sound->files[i];
    put(out, (uint64_t)file->part);
    put(out, file->take);
    put(out, file->n_frames);
    put(out, file->n_bytes);
  }
}

void
vw_pack_figures_print(FILE*              out,
                      const VwPackSound* sound,
                      const VwPackWork*  work) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const line = open_memstream(&text, &n);
  if (!line) {
    return; // a sound that is not listed is measured again
  }
  fprintf(line, "pack sound");
  put(line, work->key);
  for (size_t i = 0; i < N_FIELDS; ++i) {
    put(line, get(sound, &fields[i]));
  }
  put_curve(line, &work->curve);
  put_files(line, sound);
  if (!fclose(line)) {
    fprintf(out, "%s %016" PRIx64 "\n", text, vw_digest(text, n));
  }
  free(text);
}

/* Read */

/// The next value of a line; without one, none are left.
static uint64_t
take(const char** text) {
  char* end = NULL;
  if (!*text || **text != ' ') {
    *text = NULL;
    return 0;
  }
  const uint64_t value = strtoull(*text + 1, &end, 16);
  *text = end == *text + WIDTH ? end : NULL;
  return value;
}

/// Whether a line ends in the digest of what stands before.
static bool
is_whole(const char* line) {
  const size_t n = strlen(line);
  const char*  last = n > WIDTH ? line + n - WIDTH : NULL;
  return last && take(&last) == vw_digest(line, n - WIDTH) && last;
}

static void
take_curve(const char** text, VwLevelCurve* curve) {
  const uint64_t n = take(text);
  for (size_t i = 0; *text && i < n && i <= VW_LEVEL_STEPS; ++i) {
    curve->gain_db[i] = real_of(take(text));
    curve->lufs[i] = real_of(take(text));
    curve->n = i + 1U;
  }
}

static bool
take_files(const char** text, VwPackSound* sound, const VwPackWork* work) {
  const uint64_t n = take(text);
  if (!*text || n > work->n_names || n > FILES_MOST) {
    return false;
  }
  sound->files = calloc((size_t)n + 1U, sizeof(VwPackFile));
  for (size_t i = 0; sound->files && i < n; ++i) {
    VwPackFile* const file = &sound->files[i];
    file->part = (VwPart)take(text);
    file->take = (size_t)take(text);
    file->n_frames = (size_t)take(text);
    file->n_bytes = take(text);
    file->name = vw_pack_name_of(work, file->part, file->take);
    sound->n_files += file->name ? 1U : 0U;
  }
  return *text && sound->files && sound->n_files == n;
}

bool
vw_pack_figures_read(const char* line, VwPackSound* sound, VwPackWork* work) {
  const char* text = line + strlen("pack sound");
  if (!is_whole(line) || take(&text) != work->key) {
    return false;
  }
  for (size_t i = 0; text && i < N_FIELDS; ++i) {
    set(sound, &fields[i], take(&text));
  }
  if (text) {
    take_curve(&text, &work->curve);
  }
  if (text && take_files(&text, sound, work)) {
    return true;
  }
  vw_pack_sound_forget(sound, work);
  return false;
}
