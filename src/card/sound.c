#include "base/units.h"
#include "card/internal.h"
#include "lamp/lamp.h"
#include "signal/signal.h"
#include "take/events.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What comes before a sound is 60 dB below its peak; 2 ms are usual (common
// practice), and rising takes its time.
#define LEAD_RATIO 1e-3
#define LEAD_MS_MOST 5.0

// An offset that costs a tenth of a dB of headroom: 20 log10(1 / 0.99) is 0.09
// (closed form).
#define OFFSET_MOST 0.01

#define MAKE_AS_ONE "make it again with this --board, or --form whole-file"

static double
decibels(double ratio) {
  return 20.0 * log10(ratio);
}

/// An end of a sound.
typedef struct {
  const char* which;
  size_t      frame;
  bool        joined; ///< By its name it runs on in another file, on a board
                      ///< that plays three.
} End;

/// How high a step may be.
typedef struct {
  double exact; ///< Up to here it is as good as none.
  double most;  ///< Above it clicks.
} Steps;

/// Judge the step between silence and a frame at an end.
static void
check_end(const VwSound* sound,
          const End*     end,
          const Steps*   steps,
          VwNotes*       notes) {
  const char* const remedy = end->joined ? MAKE_AS_ONE : vw_notes_remake(notes);
  const double      height = vw_sound_height(sound, end->frame);
  vw_notes_place(notes, end->frame, end->frame + 1U);
  if (height > steps->most) {
    vw_notes_fault(notes,
                   remedy,
                   "it clicks: its %s frame is not zero but %.1f dBFS",
                   end->which,
                   decibels(height));
  } else if (height > steps->exact) {
    vw_notes_warn(notes,
                  remedy,
                  "its %s frame is not exactly zero but %.1f dBFS",
                  end->which,
                  decibels(height));
  }
}

/// Judge the step from the last frame of a loop to its first.
static void
check_seam(double step, double step_most, VwNotes* notes) {
  if (step > step_most) {
    vw_notes_fault(notes,
                   "make the loop again with `volleyweave loop`",
                   "its loop clicks: the step at its seam is %.1f dB over "
                   "twice the others",
                   decibels(step / step_most));
  }
}

static bool
is_part(const VwSoundFacts* facts, VwPart part) {
  return facts->has_part && facts->part == part;
}

/// Whether a loop holds no shots, as it sounds when it is repeated: it starts
/// and ends anywhere in what sounds on.
static bool
sounds_on(const VwSound* loop, VwNotes* notes) {
  VwEvents       events = {0};
  const VwStatus st = vw_loop_events(loop, &events);
  const bool     is = !st && events.kind == VW_KIND_SUSTAINED;
  notes->status = st == VW_NO_MEMORY ? st : notes->status;
  vw_events_clear(&events);
  return is;
}

static void
check_ends(const VwSound*      sound,
           const VwSoundFacts* facts,
           const VwBoard*      board,
           VwNotes*            notes) {
  const size_t last = sound->n_frames - 1U;
  const double step_most = vw_sound_step_heard(sound);
  // One of three files runs into the next.
  const bool three = board->repeat == VW_REPEAT_THREE_FILES;
  const bool loop = is_part(facts, VW_PART_LOOP);
  const End first_end = {"first", 0U, loop || is_part(facts, VW_PART_RING_OUT)};
  const End last_end = {"last", last, loop || is_part(facts, VW_PART_RUN_IN)};
  // What is cut here ends in zeros; a whole take begins and ends as it came.
  const bool cut = facts->has_part && facts->part != VW_PART_WHOLE;
  Steps      steps = {facts->exact && cut ? 0.0 : step_most, step_most};
  if (step_most < 0.0) {
    notes->status = VW_NO_MEMORY;
    return;
  }
  const bool open = loop && !three && !facts->has_loop &&
                    (vw_sound_height(sound, 0U) > steps.exact ||
                     vw_sound_height(sound, last) > steps.exact) &&
                    sounds_on(sound, notes);
  steps.exact = open ? step_most : steps.exact;
  if (!three || !first_end.joined) {
    check_end(sound, &first_end, &steps, notes);
  }
  if (!three || !last_end.joined) {
    check_end(sound, &last_end, &steps, notes);
  }
  if (facts->has_loop && facts->loop_last <= last) {
    vw_notes_place(notes, facts->loop_last, facts->loop_last + 1U);
    check_seam(vw_sound_step(sound, facts->loop_last, facts->loop_start),
               step_most,
               notes);
  } else if (open || (three && loop)) {
    vw_notes_place(notes, last, last + 1U);
    check_seam(vw_sound_step(sound, last, 0), step_most, notes);
  }
  notes->placed = false;
}

/// Frames before the sound rises.
static size_t
lead_frames(const VwSound* sound, double peak) {
  size_t frame = 0;
  while (frame < sound->n_frames &&
         vw_sound_height(sound, frame) < LEAD_RATIO * peak) {
    ++frame;
  }
  return frame;
}

static double
offset_of(const VwSound* sound) {
  const size_t n = sound->n_frames * sound->n_channels;
  double       sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += (double)sound->values[i];
  }
  return sum / (double)n;
}

/// Decimals that show how far a true peak is above zero.
static int
peak_places(double dbtp) {
  return dbtp < 0.005 ? 4 : dbtp < 0.05 ? 2 : 1;
}

static void
check_level(const VwSound* sound, double peak, double offset, VwNotes* notes) {
  size_t       at = 0;
  const double peak_dbtp = vw_peak_dbtp_at(sound, &at);
  const size_t n_lead = lead_frames(sound, peak);
  const double lead = 1000.0 * (double)n_lead / sound->rate_hz;
  if (peak_dbtp > 0.0) {
    vw_notes_place(notes, at, at + 1U);
    vw_notes_warn(notes,
                  "write it again with a lower --ceiling",
                  "its true peak is %.*f dBTP: the board's converter clips it",
                  peak_places(peak_dbtp),
                  peak_dbtp);
  }
  if (lead > LEAD_MS_MOST) {
    vw_notes_place(notes, 0U, n_lead);
    vw_notes_warn(notes,
                  "cut the silence off, or use `volleyweave shot`",
                  "it starts with %.0f ms of silence, felt as a delay",
                  lead);
  }
  if (fabs(offset) > OFFSET_MOST) {
    vw_notes_warn(notes,
                  vw_notes_remake(notes),
                  "it has an offset of %.3f of full scale, which clicks",
                  offset);
  }
}

/// A loop that does not fill the board's last buffer.
static void
check_buffer(const VwSound*      sound,
             const VwSoundFacts* facts,
             const VwBoard*      board,
             VwNotes*            notes) {
  const bool   loop = is_part(facts, VW_PART_LOOP);
  const size_t n_frames = facts->has_loop
                            ? facts->loop_last + 1U - facts->loop_start
                            : sound->n_frames;
  if (board->buffer_frames < 2U || n_frames % board->buffer_frames == 0U ||
      board->repeat == VW_REPEAT_NOTHING) {
    return;
  }
  if (loop || facts->has_loop) {
    vw_notes_fault(
      notes,
      "make the loop again for this board",
      "its loop of %zu frames is no multiple of the board's buffer of %u",
      n_frames,
      board->buffer_frames);
  } else if (!board->naming.parts) {
    vw_notes_warn(notes,
                  "make it again for this board if it is a loop",
                  "its %zu frames are no multiple of the board's buffer of %u",
                  n_frames,
                  board->buffer_frames);
  }
}

/// A loop in a format that pads its last block.
static void
check_padding(const VwSound* sound, const VwSoundFacts* facts, VwNotes* notes) {
  if (facts->block_frames && is_part(facts, VW_PART_LOOP)) {
    vw_notes_warn(notes,
                  "listen to it there, or use WAV",
                  "Ogg pads its last block, by up to %u frames (%.0f ms)",
                  facts->block_frames,
                  1000.0 * facts->block_frames / sound->rate_hz);
  }
}

/// Check what is heard: all channels, or the one beside a lamp track.
static void
check_heard(const VwSound*      sound,
            const VwSoundFacts* facts,
            const VwBoard*      board,
            VwNotes*            notes) {
  const double peak = vw_sound_peak(sound);
  const double offset = offset_of(sound);
  if (!isfinite(peak) || !isfinite(offset)) {
    vw_notes_fault(
      notes, vw_remedy(VW_NOT_FINITE), "some of its values are no numbers");
    return;
  }
  check_buffer(sound, facts, board, notes);
  check_padding(sound, facts, notes);
  if (peak <= 0.0) {
    vw_notes_warn(notes, "check the recording", "it is silent");
    return;
  }
  if (sound->n_frames > 1U) {
    check_ends(sound, facts, board, notes);
  }
  check_level(sound, peak, offset, notes);
}

void
vw_check_sound(const VwSound*      sound,
               const VwSoundFacts* facts,
               const VwBoard*      board,
               VwNotes*            notes) {
  VwSound        heard = {0};
  const VwStatus st = vw_sound_heard(sound, vw_has_lamp_track(sound), &heard);
  if (st) {
    notes->status = st;
  } else {
    check_heard(&heard, facts, board, notes);
  }
  vw_sound_clear(&heard);
}
