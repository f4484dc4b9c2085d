#include "pictures/internal.h"

#include <math.h>
#include <stdio.h>

// So far, in steps, a value may lie beyond an end and still count: rounding.
#define ROUNDING 1e-9

double
vw_axis_place(const VwAxis* axis, double value) {
  return axis->logarithmic
           ? log(value / axis->from) / log(axis->to / axis->from)
           : (value - axis->from) / (axis->to - axis->from);
}

bool
vw_axis_has(double place) {
  return place >= -ROUNDING && place <= 1.0 + ROUNDING;
}

bool
vw_axis_is_sound(const VwAxis* axis) {
  return isfinite(axis->from) && isfinite(axis->to) && axis->to > axis->from &&
         (!axis->logarithmic || axis->from > 0.0);
}

static void
add(const VwAxis* axis, double value, const char* text, VwTicks* ticks) {
  if (ticks->n < VW_TICKS_MOST) {
    VwTick* const tick = &ticks->ticks[ticks->n++];
    tick->place = vw_axis_place(axis, value);
    (void)snprintf(tick->text, sizeof(tick->text), "%s", text);
  }
}

/* Linear */

/// The least step of 1, 2 or 5 times a power of ten that is not below `least`.
static double
step_up(double least) {
  static const double steps[] = {1.0, 2.0, 5.0, 10.0};
  const double        power = pow(10.0, floor(log10(least)));
  size_t              i = 0;
  while (i < 3U && steps[i] * power < least * (1.0 - ROUNDING)) {
    ++i;
  }
  return steps[i] * power;
}

/// The next step below one.
static double
step_down(double step) {
  // Neighbours are 2 or 2.5 times as large as each other.
  return step_up(step / 2.6);
}

static size_t
count_steps(const VwAxis* axis, double step) {
  const double first = ceil(axis->from / step - ROUNDING);
  const double last = floor(axis->to / step + ROUNDING);
  return last < first ? 0U : (size_t)(last - first) + 1U;
}

static void
take_linear(const VwAxis* axis, size_t n_most, VwTicks* ticks) {
  double step = step_up((axis->to - axis->from) / (double)n_most);
  while (count_steps(axis, step) > n_most) {
    step = step_up(step * 1.5);
  }
  // One number alone tells no scale.
  while (n_most > 1U && count_steps(axis, step) < 2U) {
    step = step_down(step);
  }
  const int    decimals = step < 1.0 ? (int)ceil(-log10(step) - ROUNDING) : 0;
  const double first = ceil(axis->from / step - ROUNDING);
  const size_t n = count_steps(axis, step);
  for (size_t i = 0; i < n; ++i) {
    char         text[24];
    const double value = (first + (double)i) * step;
    // No number is less than nothing for being rounded.
    (void)snprintf(text,
                   sizeof(text),
                   "%.*f",
                   decimals,
                   fabs(value) < step * ROUNDING ? 0.0 : value);
    add(axis, value, text, ticks);
  }
}

/* Logarithmic */

static void
add_logarithmic(const VwAxis* axis, double value, VwTicks* ticks) {
  char text[24];
  if (value < axis->from * (1.0 - ROUNDING) ||
      value > axis->to * (1.0 + ROUNDING)) {
    return;
  }
  if (value >= 999.5) {
    (void)snprintf(text, sizeof(text), "%gk", value / 1000.0);
  } else {
    (void)snprintf(text, sizeof(text), "%g", value);
  }
  add(axis, value, text, ticks);
}

static void
take_logarithmic(const VwAxis* axis, size_t n_most, VwTicks* ticks) {
  static const double steps[] = {1.0, 2.0, 5.0};
  const int           from = (int)floor(log10(axis->from));
  const int           to = (int)ceil(log10(axis->to));
  // Three a decade, or one where that is too dense.
  const size_t n_steps = 3U * (size_t)(to - from) <= n_most ? 3U : 1U;
  for (int power = from; power <= to; ++power) {
    for (size_t i = 0; i < n_steps; ++i) {
      add_logarithmic(axis, steps[i] * pow(10.0, power), ticks);
    }
  }
}

void
vw_ticks_take(const VwAxis* axis, size_t n_most, VwTicks* ticks) {
  ticks->n = 0;
  if (axis->logarithmic) {
    take_logarithmic(axis, n_most, ticks);
  } else {
    take_linear(axis, n_most, ticks);
  }
}

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
vw_flags_lay(const VwPanel* panel, const VwBox* box, VwFlags* flags) {
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
    const double  width = vw_text_width(VW_FLAG_SIZE, mark->label);
    const bool    is_left = x + BESIDE + width > end;
    const double  left = is_left ? x - BESIDE - width : x + BESIDE;
    *flag = (VwFlag){mark, x, left, left + width, 0U};
  }
  lift(flags);
  settle(flags);
  close_up(flags);
}
