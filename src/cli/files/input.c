#include "cli/files/files.h"

#include "base/ranges.h"
#include "burst/burst.h"
#include "cli/message/message.h"
#include "container/container.h"
#include "store/store.h"
#include "take/events.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/// How much of a take is there, where it is cut short.
static char*
cut_short_message(const VwReadFault* fault) {
  if (!fault->rate_hz || !fault->n_frames_promised) {
    return status_message(VW_CUT_SHORT);
  }
  return text_format("it is cut short, %.3f s of %.3f s are there: %s",
                     (double)fault->n_frames_there / fault->rate_hz,
                     (double)fault->n_frames_promised / fault->rate_hz,
                     vw_remedy(VW_CUT_SHORT));
}

/// Why a stretch is not in its take.
static char*
stretch_message(const VwFindOptions* options, const VwReadFault* fault) {
  const double length_s = (double)fault->n_frames_there / fault->rate_hz;
  const bool   early = options->from_s < length_s;
  if (early && options->to_s <= length_s) {
    return text_format("the stretch is shorter than 5 ms: give an earlier "
                       "--from, or a later --to");
  }
  return text_format("--%s %.10gs lies past its end, at %.3f s: give an "
                     "earlier one, or leave it out",
                     early ? "to" : "from",
                     early ? options->to_s : options->from_s,
                     length_s);
}

static char*
pick_message(const Input* input, const VwFindOptions* finding) {
  const unsigned n = input->facts.shots_in_take;
  const bool     told = finding->has_kind && finding->kind != VW_KIND_SHOT &&
                    finding->kind != VW_KIND_SUSTAINED;
  return n > 1U
           ? text_format("--pick %u, but it holds %u shots: pick one of 1 to "
                         "%u",
                         finding->pick,
                         n,
                         n)
         : told
           ? text_format("--pick %u, but it holds 1 shot: leave --pick out",
                         finding->pick)
           : text_format("--pick %u, but it holds 1 shot (%s): leave --pick "
                         "out, or give --as several-shots",
                         finding->pick,
                         vw_kind_name(input->facts.kind));
}

static char*
start_message(const VwShotFacts* facts, double start_ms) {
  return start_ms < facts->attack_ms
           ? text_format("--start %.10gms lies in the shot before the one "
                         "picked, which lies from %.0f to %.0f ms: give a "
                         "later one, or --pick another shot",
                         start_ms,
                         facts->attack_ms,
                         facts->end_ms)
           : text_format("--start %.10gms lies past the end of its shot, which "
                         "ends at %.0f ms: give an earlier one, or --pick "
                         "another shot",
                         start_ms,
                         facts->end_ms);
}

/// Whether a name after a take's may be the place to write to.
static bool
may_be_output(const Input*       input,
              const CommandName* command,
              const Settings*    settings) {
  const size_t n = settings->n_takes;
  return n > 1U && !strcmp(settings->takes[n - 1U], input->path) &&
         !settings->output &&
         command->bit &
           (COMMAND_SHOT | COMMAND_LOOP | COMMAND_CONVERT | COMMAND_SPLIT);
}

/// Whether a file that was refused bears an ending of MPEG-4 files.
static bool
is_mpeg_4(const char* path) {
  const char* const ending = vw_path_ending(path);
  return !strcasecmp(ending, ".m4a") || !strcasecmp(ending, ".mp4");
}

/// How long what is used of a take sounds.
static double
sounds_ms(const Input* input) {
  return input->facts.end_ms - input->facts.attack_ms;
}

/// Whether what is said to sound on is too short for the shortest cycle.
static bool
is_click(const Input* input, const CommandName* command) {
  const VwRange cycle_s = VW_RANGE_CYCLE_S;
  return command->bit == COMMAND_LOOP &&
         input->facts.kind == VW_KIND_SUSTAINED &&
         sounds_ms(input) < 1000.0 * cycle_s.least;
}

static char*
message_for(const Input*       input,
            const CommandName* command,
            const Settings*    settings,
            const VwReadFault* fault) {
  switch (input->status) {
    case VW_NO_SHOT:
      return input->facts.kind == VW_KIND_SUSTAINED
               ? text_format("a sustained sound, in which no shot starts: use "
                             "`loop` for its loop, or `convert` for all of it")
             : command->bit == COMMAND_LOOP
               ? text_format("nothing in it rises out of the noise: record it "
                             "nearer or louder, or give --as sustained for a "
                             "loop of the noise")
               : status_message(VW_NO_SHOT);
    case VW_TOO_SHORT:
      return input->events.n_events
               ? text_format(
                   "it sounds for only %.0f ms, which is no sustained "
                   "sound: leave --as out, or give a longer take",
                   sounds_ms(input))
               : status_message(VW_TOO_SHORT);
    case VW_CUT_SHORT:
      return cut_short_message(fault);
    case VW_TOO_LONG:
      return text_format("it is longer than %.10g s: cut the shot out of it "
                         "first, or give --seconds-max",
                         settings->reading.seconds_max);
    case VW_BAD_STRETCH:
      return stretch_message(&settings->family.find, fault);
    case VW_BAD_PICK:
      return pick_message(input, &settings->family.find);
    case VW_BAD_START:
      return start_message(&input->facts, settings->family.find.start_ms);
    case VW_NOT_REGULAR:
      return !vw_path_is_folder(input->path) ? status_message(VW_NOT_REGULAR)
             : may_be_output(input, command, settings)
               ? text_format("it is a folder: give -o %s to write there",
                             input->path)
               : text_format("it is a folder: name the sound files in it");
    case VW_MISSING:
      return may_be_output(input, command, settings) &&
                 !*vw_path_ending(input->path)
               ? text_format("no file has that name: check the spelling, or "
                             "give -o %s to write there",
                             input->path)
               : status_message(VW_MISSING);
    case VW_CONTAINER:
      return is_mpeg_4(input->path)
               ? text_format("it is an MPEG-4 file, which cannot be read: %s",
                             vw_remedy(VW_CONTAINER))
               : status_message(VW_CONTAINER);
    default:
      return status_message(input->status);
  }
}

/// Find the shot where the command wants one.
static VwStatus
find_shot(const CommandName* command,
          const Settings*    settings,
          const VwSound*     raw,
          Input*             input) {
  const VwFindOptions finding = vw_find_wish(&settings->family);
  VwStatus            st = VW_NO_SHOT;
  input->facts = vw_facts_of_whole(&input->take);
  if (command->bit != COMMAND_CONVERT) {
    st = vw_events_find(&input->take.sound, &input->events);
    if (!st) {
      vw_events_overrule(&finding, &input->events);
      st = vw_find_among(&input->take, &finding, &input->events, &input->facts);
    }
    st = !st && input->facts.is_noise && command->bit == COMMAND_SHOT
           ? VW_NO_SHOT
           : st;
    st = !st && is_click(input, command) ? VW_TOO_SHORT : st;
    st = st ? st : vw_torn_find(raw, &input->take, &finding, &input->facts);
    input->has_shot = !st;
  }
  // A sound without a shot can be inspected and converted all the same.
  return st == VW_NO_SHOT && !(command->bit & (COMMANDS_CUT | COMMAND_SPLIT))
           ? VW_OK
           : st;
}

/// Count the clipped frames of each event where the command may choose by them.
static VwStatus
count_clipped(const CommandName* command, const VwSound* raw, Input* input) {
  if (!(command->bit & (COMMAND_SPLIT | COMMAND_LOOP))) {
    return VW_OK;
  }
  input->clipped = calloc(input->events.n_events, sizeof(*input->clipped));
  if (!input->clipped) {
    return VW_NO_MEMORY;
  }
  vw_clipped_of_events(raw, &input->events, input->clipped);
  return VW_OK;
}

/// Measure what is used of the recording.
static VwStatus
measure(const CommandName* command,
        const Settings*    settings,
        const VwSound*     raw,
        Input*             input) {
  VwSound view = {0};
  if (command->bit != COMMAND_INSPECT) {
    return VW_OK;
  }
  VwStatus st = vw_stretch_view(raw, &settings->family.find, &view);
  st = st ? st : vw_loudness_measure(&view, &input->loudness);
  input->has_loudness = !st;
  return st;
}

void
input_load(const char*        path,
           const CommandName* command,
           const Settings*    settings,
           Input*             input) {
  VwSound     raw = {0};
  VwReadFault fault = {0};
  const bool  makes = command->bit & COMMANDS_MAKE;
  *input = (Input){.path = path};
  VwStatus st = makes && vw_is_own_output(path) ? VW_OWN_OUTPUT : VW_OK;
  st = st ? st : vw_read(path, &settings->reading, &raw, &fault);
  st = st ? st
          : vw_take_prepare_stretch(&raw,
                                    &settings->family.find,
                                    command->bit == COMMAND_CONVERT,
                                    &input->take);
  input->stretch_db =
    st ? 0.0 : vw_stretch_level_db(&raw, &settings->family.find);
  st = st ? st : measure(command, settings, &raw, input);
  st = st ? st : find_shot(command, settings, &raw, input);
  st = st ? st : count_clipped(command, &raw, input);
  input->status = st;
  if (st == VW_BAD_STRETCH) {
    fault.n_frames_there = raw.n_frames;
    fault.rate_hz = raw.rate_hz;
  }
  if (st) {
    input->message = message_for(input, command, settings, &fault);
  }
  vw_sound_clear(&raw);
}

void
input_clear(Input* input) {
  if (input) {
    vw_take_clear(&input->take);
    vw_events_clear(&input->events);
    free(input->clipped);
    free(input->message);
    *input = (Input){0};
  }
}
