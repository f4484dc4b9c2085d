#include "pictures/flags.h"

#include "pictures/ticks.h"

// Between a line and its label, and from one label to the next.
#define BESIDE 2.5
#define APART 5.0

static bool
overlap(const VwFlag* a, const VwFlag* b) {
  return a->left < b->right + APART && b->left < a->right + APART;
}

/// Whether the line of `b` would run through the text of `a`.
static bool
is_crossed(const VwFlag* a, const VwFlag* b) {
  return b->x > a->left - BESIDE / 2.0 && b->x < a->right + BESIDE / 2.0;
}

/// Lift labels above those whose lines they lie on. Labels in each other's way
/// lift each other without end; so many rounds are enough for all others.
static void
lift(VwFlags* flags) {
  for (size_t round = 0; round <= flags->n; ++round) {
    for (size_t i = 0; i < flags->n; ++i) {
      VwFlag* const flag = &flags->flags[i];
      for (size_t k = 0; k < flags->n; ++k) {
        const VwFlag* const other = &flags->flags[k];
        const bool above = is_crossed(flag, other) && other->lane >= flag->lane;
        const bool beside = overlap(flag, other) && other->lane == flag->lane;
        if (i != k && (above || beside)) {
          flag->lane = other->lane + 1U;
        }
      }
    }
  }
}

/// Whether a label lies on one of the first `n` in its lane.
static bool
is_taken(const VwFlags* flags, size_t n, const VwFlag* flag) {
  bool taken = false;
  for (size_t i = 0; i < n; ++i) {
    const VwFlag* const other = &flags->flags[i];
    taken = taken || (other->lane == flag->lane && overlap(other, flag));
  }
  return taken;
}

/// Lift labels off others for good, the lowest first.
static void
settle(VwFlags* flags) {
  for (size_t n = 0; n < flags->n; ++n) {
    size_t lowest = n;
    for (size_t i = n; i < flags->n; ++i) {
      lowest = flags->flags[i].lane < flags->flags[lowest].lane ? i : lowest;
    }
    VwFlag flag = flags->flags[lowest];
    flags->flags[lowest] = flags->flags[n];
    while (is_taken(flags, n, &flag)) {
      ++flag.lane;
    }
    flags->flags[n] = flag;
  }
}

/// Close the lanes in which no label is left.
static void
close_up(VwFlags* flags) {
  unsigned lane = 0;
  unsigned n_done = 0;
  flags->n_lanes = 0;
  for (; n_done < flags->n; ++lane) {
    unsigned n_here = 0;
    for (size_t i = 0; i < flags->n; ++i) {
      if (flags->flags[i].lane == lane) {
        flags->flags[i].lane = flags->n_lanes;
        ++n_here;
      }
    }
    flags->n_lanes += n_here > 0U;
    n_done += n_here;
  }
}

void
vw_flags_lay(VwCanvas*      canvas,
             const VwPanel* panel,
             const VwBox*   box,
             VwFlags*       flags) {
  const double end = box->x + box->width;
  *flags = (VwFlags){.n = 0};
  for (size_t i = 0; i < panel->n_marks && flags->n < VW_FLAGS_MOST; ++i) {
    const VwMark* const mark = &panel->marks[i];
    const double        place = vw_axis_place(&panel->x, mark->x);
    if (!mark->label || !vw_axis_has(place)) {
      continue;
    }
    VwFlag* const flag = &flags->flags[flags->n++];
    const double  x = box->x + place * box->width;
    const double  width =
      vw_canvas_text_width(canvas, VW_FLAG_SIZE, mark->label);
    const bool   is_left = x + BESIDE + width > end;
    const double left = is_left ? x - BESIDE - width : x + BESIDE;
    *flag = (VwFlag){mark, x, left, left + width, 0U};
  }
  lift(flags);
  settle(flags);
  close_up(flags);
}
