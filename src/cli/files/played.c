// The files that a board plays for a sound, with the attacks in them.

#include "card/loop.h"
#include "cli/files/files.h"

#include "base/ranges.h"
#include "board/board.h"
#include "burst/burst.h"
#include "cli/message/message.h"
#include "container/container.h"
#include "lamp/lamp.h"
#include "pack/pack.h"
#include "signal/signal.h"
#include "store/store.h"

#include <stdlib.h>

/// A file on its way in.
typedef struct {
  const Settings* settings;
  SoundName       name;
  bool            listed; ///< The list in its folder says what it holds.
  VwMade          made;   ///< That.
  BoardFiles*     files;
} Work;

/// Whether a file is a part, by its name or by the list.
static bool
is_part(const Work* work, VwPart part) {
  return (work->name.has_part && work->name.part == part) ||
         (work->listed && work->made.part == part);
}

/// Read a file as the board has it; some tell nothing of their format.
static VwStatus
read_one(const Work* work, const char* path, VwSound* sound) {
  const VwBoard* const board = &work->settings->board;
  char** const         paths = work->files->paths;
  VwReadFault          fault = {0};
  char** const at = !paths[0] ? paths : !paths[1] ? paths + 1 : paths + 2;
  *at = text_format("%s", path);
  if (!*at) {
    return VW_NO_MEMORY;
  }
  if (!vw_container_is_bare(board->container)) {
    return vw_read(path, &work->settings->reading, sound, &fault);
  }
  const VwWrapping wrapping = {.container = board->container,
                               .format = {.rate_hz = board->sample_rates_hz[0],
                                          .n_channels = board->channels[0],
                                          .encoding = board->encodings[0]}};
  return vw_read_made(path, &wrapping, sound);
}

static bool
read_sound(const Work* work, const char* path, VwSound* sound) {
  const VwStatus st = read_one(work, path, sound);
  return !st || say_status(path, st);
}

/// Read another part of the same sound.
static bool
read_sibling(const Work* work, VwPart part, VwSound* sound) {
  char* const path = sound_name_sibling(&work->name, part);
  if (!path) {
    return say_status(work->name.path, VW_NO_MEMORY);
  }
  const VwStatus st = read_one(work, path, sound);
  if (st == VW_MISSING) {
    say(path,
        "the board %s plays three files, this one too: make them with "
        "`loop --form pieces`",
        work->settings->board.name);
  } else if (st) {
    say_status(path, st);
  }
  free(path);
  return !st;
}

/* Attacks */

bool
loop_holds_shots(size_t shots, const VwSound* loop, double gap_ms) {
  const VwRange rates = VW_RANGE_FIRE_RATE_PER_S;
  // A loop at the highest rate may be rounded down to whole frames.
  const double s =
    (double)(loop->n_frames + 1U) / loop->rate_hz + gap_ms / 1000.0;
  return (double)shots <= rates.most * s ||
         say("--shots",
             "%zu in a loop of %.4g ms are more than %.4g/s: give fewer",
             shots,
             1000.0 * s,
             rates.most);
}

/// Whether a sound is said to be of a kind.
static bool
is_said(const Work* work, VwKind kind) {
  const VwFindOptions* const said = &work->settings->family.find;
  return said->has_kind && said->kind == kind;
}

/// The attacks of a burst, as the list tells them.
static bool
lay_burst(const Work* work, VwPlayed* played, size_t** attacks) {
  const VwMade* const made = &work->made;
  const double        rate_hz = (double)played->sound->rate_hz;
  *attacks = calloc(made->shots, sizeof(size_t));
  if (!*attacks) {
    return say_status(work->name.path, VW_NO_MEMORY);
  }
  for (size_t i = 0; i < made->shots; ++i) {
    (*attacks)[i] = vw_shot_pre_roll(played->sound->rate_hz) +
                    (size_t)((double)i * rate_hz / made->fire_rate_per_s + 0.5);
  }
  played->shots = *attacks;
  played->n_shots = made->shots;
  return true;
}

/// The gap behind each repeat of a loop: none follows one in a file that is
/// played from end to end.
static double
gap_behind(const Work* work, const VwSound* loop) {
  const BoardFiles* const files = work->files;
  const bool within = files->rehearsal.repeat == VW_REPEAT_WHOLE_FILE &&
                      loop->n_frames < files->main.n_frames;
  return within ? 0.0 : work->settings->board.gap_ms;
}

/// What sounds on has none.
static bool
find_attacks(const Work* work, bool loop, VwPlayed* played, size_t** attacks) {
  const Settings* const settings = work->settings;
  if (loop &&
      vw_loop_is_short(played->sound->n_frames, played->sound->rate_hz)) {
    return say_status(work->name.path, VW_TOO_SHORT);
  }
  if (loop && !loop_holds_shots(settings->family.shots,
                                played->sound,
                                work->settings->board.gap_ms)) {
    return false;
  }
  const bool told = settings->family.find.has_kind || settings->family.shots;
  if (is_said(work, VW_KIND_SUSTAINED) ||
      (!told && (work->listed ? !work->made.shots
                              : sound_name_sounds_on(&work->name)))) {
    return true;
  }
  if (!told && work->listed && work->made.part == VW_PART_BURST) {
    return lay_burst(work, played, attacks);
  }
  const bool  repeats = work->files->rehearsal.repeat == VW_REPEAT_WHOLE_FILE;
  VwLoopKnown known = vw_loop_unknown();
  // A loop that lies where it was made is on the list there.
  (void)vw_made_loop(work->name.path, &known);
  known.shots = settings->family.shots ? settings->family.shots : known.shots;
  known.gap_ms = repeats ? gap_behind(work, played->sound) : 0.0;
  VwStatus st = vw_rehearse_find_shots(
    played->sound, loop ? &known : NULL, attacks, &played->n_shots);
  if (!st && loop && !told && !known.shots && played->n_shots) {
    st = vw_rehearse_find_uneven(played->sound, attacks, &played->n_shots);
  }
  played->shots = *attacks;
  return !st || say_status(work->name.path, st);
}

/// Whether a file without a part in its name was made here, but as no loop, by
/// a list that says no more.
static bool
is_made_otherwise(const Work* work) {
  return !work->name.has_part && !work->listed &&
         vw_is_made_otherwise(work->name.path);
}

/// Whether a sound made here, but as no loop, is a whole one of a pack or goes
/// on: it holds no shots, and lights no lamp.
static bool
is_shotless(const Work* work, const VwSound* sound) {
  const char* const path = work->name.path;
  const char* const file = vw_path_name(path);
  char* const       folder = text_format("%.*s.", (int)(file - path), path);
  char* const       named = folder ? vw_pack_sound_in(folder, file) : NULL;
  const bool        whole = named && work->settings->board.naming.parts;
  free(named);
  free(folder);
  VwTake              take = {0};
  VwShotFacts         facts = {0};
  const VwFindOptions finding = vw_find_defaults();
  const bool          goes_on = !whole && !vw_take_prepare(sound, &take) &&
                       !vw_find(&take, &finding, &facts) &&
                       facts.kind == VW_KIND_SUSTAINED;
  vw_take_clear(&take);
  return whole || goes_on;
}

/// The attacks before a loop lie as those in it.
static bool
lead_in(const Work* work, size_t n_before, VwPlayed* before, size_t** attacks) {
  const VwPlayed* const loop = &work->files->rehearsal.main;
  if (!loop->n_shots) {
    return true;
  }
  const double period = (double)loop->sound->n_frames / (double)loop->n_shots;
  const size_t first = loop->shots[0];
  const size_t n = (size_t)((double)n_before / period + 0.5);
  const double from = fmax((double)n_before - (double)n * period, 0.0);
  *attacks = calloc(n + 1U, sizeof(size_t));
  if (!*attacks) {
    return say_status(work->name.path, VW_NO_MEMORY);
  }
  for (size_t i = 0; i < n; ++i) {
    (*attacks)[i] = first + (size_t)(from + (double)i * period + 0.5);
  }
  before->shots = *attacks;
  before->n_shots = n;
  return true;
}

/// The shots behind a loop, as many as the list tells, lie as those in it.
static bool
lead_out(const Work* work, VwPlayed* after, size_t** attacks) {
  const VwPlayed* const loop = &work->files->rehearsal.main;
  char* const path = sound_name_sibling(&work->name, VW_PART_RING_OUT);
  VwMade      made = {0};
  const bool  told = loop->n_shots && path && vw_made_as(path, &made);
  free(path);
  if (!told || !made.shots) {
    return true;
  }
  const double period = (double)loop->sound->n_frames / (double)loop->n_shots;
  *attacks = calloc(made.shots, sizeof(size_t));
  if (!*attacks) {
    return say_status(work->name.path, VW_NO_MEMORY);
  }
  for (size_t i = 0; i < made.shots; ++i) {
    (*attacks)[i] = loop->shots[0] + (size_t)((double)i * period + 0.5);
  }
  after->shots = *attacks;
  after->n_shots = made.shots;
  return true;
}

/// What the lamp goes by: the rate, and the sound as everywhere.
static bool
set_lamp(const Work* work, const VwPlayed* loop) {
  VwRehearsal* const rehearsal = &work->files->rehearsal;
  const double       gap_ms = gap_behind(work, loop->sound);
  if (!loop->n_shots) {
    return true;
  }
  const double cycle_s =
    (double)loop->sound->n_frames / (double)loop->sound->rate_hz +
    gap_ms / 1000.0;
  VwOnTime on_time = {0};
  rehearsal->fire_rate_per_s = (double)loop->n_shots / cycle_s;
  const VwStatus st =
    vw_on_time_of_loop(loop->sound, loop->n_shots, gap_ms, &on_time);
  if (!st) {
    vw_on_time_ask(work->settings->family.lamp_on_ms, &on_time);
    rehearsal->lamp_on_ms = on_time.on_ms;
  }
  return st != VW_NO_MEMORY || say_status(work->name.path, st);
}

/// Keep of a file what is heard of it.
static bool
keep_first_channel(const Work* work, VwSound* sound) {
  VwSound        heard = {0};
  const VwStatus st =
    sound->n_channels == 2U ? vw_sound_channel(sound, 0U, &heard) : VW_OK;
  if (st) {
    return say_status(work->name.path, st);
  }
  if (heard.values) {
    vw_sound_clear(sound);
    *sound = heard;
  }
  return true;
}

/// A lamp's track beside the sound is not heard.
static bool
leave_out_track(const Work* work) {
  BoardFiles* const files = work->files;
  return !vw_has_lamp_track(&files->main) ||
         (keep_first_channel(work, &files->main) &&
          keep_first_channel(work, &files->run_in) &&
          keep_first_channel(work, &files->ring_out));
}

/* Ways of playing */

static bool
read_three(Work* work) {
  BoardFiles* const files = work->files;
  files->rehearsal.run_in.sound = &files->run_in;
  files->rehearsal.ring_out.sound = &files->ring_out;
  if (!work->name.has_part) {
    return say(work->name.path,
               "the board %s plays three files, but this name has no part: "
               "give the file that ends in .loop.wav",
               work->settings->board.name);
  }
  if (!read_sibling(work, VW_PART_LOOP, &files->main) ||
      !read_sibling(work, VW_PART_RUN_IN, &files->run_in) ||
      !read_sibling(work, VW_PART_RING_OUT, &files->ring_out) ||
      !leave_out_track(work) ||
      !find_attacks(work, true, &files->rehearsal.main, &files->attacks[0])) {
    return false;
  }
  return set_lamp(work, &files->rehearsal.main) &&
         lead_in(work,
                 files->run_in.n_frames,
                 &files->rehearsal.run_in,
                 &files->attacks[1]) &&
         lead_out(work, &files->rehearsal.ring_out, &files->attacks[2]);
}

/// Find the attacks of a file with a loop marked in it.
static bool
find_marked(Work* work) {
  BoardFiles* const  files = work->files;
  VwRehearsal* const rehearsal = &files->rehearsal;
  const size_t       start = rehearsal->loop_start;
  const VwSound loop = {files->main.values + start * files->main.n_channels,
                        rehearsal->loop_end - start,
                        files->main.n_channels,
                        files->main.rate_hz};
  VwPlayed      played = {.sound = &loop};
  size_t*       in_loop = NULL;
  VwStatus      st = VW_OK;
  if (!find_attacks(work, true, &played, &in_loop)) {
    return false;
  }
  if (played.n_shots) {
    if (!set_lamp(work, &played)) {
      free(in_loop);
      return false;
    }
    st = vw_rehearse_spread_shots(
      rehearsal, &played, &files->attacks[0], &rehearsal->main.n_shots);
    rehearsal->main.shots = files->attacks[0];
  }
  free(in_loop);
  return !st || say_status(work->name.path, st);
}

/// Read where a file marks a loop, if it does.
static bool
read_marks(Work* work) {
  VwRehearsal* const rehearsal = &work->files->rehearsal;
  const VwStatus     st = vw_read_loop_points(
    work->name.path, &rehearsal->loop_start, &rehearsal->loop_end);
  return !st || say_status(work->name.path, st);
}

static bool
has_marks(const Work* work) {
  const size_t end = work->files->rehearsal.loop_end;
  return end && end <= work->files->main.n_frames;
}

/// Whether a file marks a loop of a shot or more, and holds more than that.
static bool
has_loop_within(const Work* work) {
  const VwRehearsal* const rehearsal = &work->files->rehearsal;
  const VwSound* const     whole = &work->files->main;
  const VwRange            fire = VW_RANGE_FIRE_RATE_PER_S;
  if (!has_marks(work)) {
    return false;
  }
  const size_t n = rehearsal->loop_end - rehearsal->loop_start;
  return n < whole->n_frames && (double)(n + 1U) * fire.most >= whole->rate_hz;
}

static bool
read_marked(Work* work) {
  if (!has_marks(work)) {
    return say(work->name.path,
               "the board %s plays loop points, and it has none: make it with "
               "`loop --form loop-points`",
               work->settings->board.name);
  }
  return find_marked(work);
}

/// How the board plays a file of that name.
static VwRepeat
repeat_of(const Work* work) {
  const bool finished =
    is_said(work, VW_KIND_SHOT) || is_said(work, VW_KIND_SEVERAL_SHOTS) ||
    is_part(work, VW_PART_SHOT) || is_part(work, VW_PART_BURST);
  return finished ? VW_REPEAT_NOTHING : work->settings->board.repeat;
}

static bool
read_files(Work* work) {
  BoardFiles* const  files = work->files;
  VwRehearsal* const rehearsal = &files->rehearsal;
  rehearsal->repeat = repeat_of(work);
  rehearsal->main.sound = &files->main;
  if (rehearsal->repeat == VW_REPEAT_THREE_FILES) {
    return read_three(work);
  }
  if (!read_sound(work, work->name.path, &files->main) || !read_marks(work) ||
      !leave_out_track(work)) {
    return false;
  }
  if (rehearsal->repeat == VW_REPEAT_LOOP_POINTS) {
    return read_marked(work);
  }
  const bool otherwise = is_made_otherwise(work);
  if (otherwise && !work->settings->family.find.has_kind &&
      is_shotless(work, &files->main)) {
    return true;
  }
  if (otherwise && !work->settings->family.shots) {
    rehearsal->repeat = VW_REPEAT_NOTHING;
  }
  const bool loop = rehearsal->repeat == VW_REPEAT_WHOLE_FILE;
  if (loop && has_loop_within(work)) {
    if (!find_marked(work)) {
      return false;
    }
    if (rehearsal->main.n_shots) {
      return true;
    }
  }
  if (!find_attacks(work, loop, &rehearsal->main, &files->attacks[0])) {
    return false;
  }
  if (is_said(work, VW_KIND_SHOT) || is_part(work, VW_PART_SHOT)) {
    rehearsal->main.n_shots = 1U; // whatever echoes in it
  }
  return !loop || set_lamp(work, &rehearsal->main);
}

bool
board_files_read(const char*     path,
                 const Settings* settings,
                 BoardFiles*     files) {
  *files = (BoardFiles){0};
  Work work = {
    .settings = settings, .name = sound_name_of(path), .files = files};
  work.listed = vw_made_as(path, &work.made);
  return read_files(&work);
}

void
board_files_clear(BoardFiles* files) {
  vw_sound_clear(&files->main);
  vw_sound_clear(&files->run_in);
  vw_sound_clear(&files->ring_out);
  free(files->attacks[0]);
  free(files->attacks[1]);
  free(files->attacks[2]);
  for (size_t i = 0; i < 3U; ++i) {
    free(files->paths[i]);
  }
  *files = (BoardFiles){0};
}
