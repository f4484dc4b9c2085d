// A board: its test sound.

#include "base/caution.h"
#include "base/ranges.h"
#include "base/size.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"
#include "gauge/gauge.h"

/// The test sound in the format of the settings.
static VwStatus
plan(const Settings* settings, VwTestSound* test) {
  const VwFamilyOptions* const family = &settings->family;
  const size_t                 most = vw_size_loop_most(family);
  const unsigned               rate_hz = family->format.rate_hz;
  const VwTestWish             wish = {
                .rate_hz = rate_hz ? rate_hz : VW_SAMPLE_RATE_USUAL_HZ,
                .n_channels = family->format.n_channels,
                .frames_unit = vw_size_loop_unit(family),
                .frames_most = most == SIZE_MAX ? 0U : most,
  };
  return vw_test_plan(&wish, test);
}

static int
write_test(const CommandName* command, const Settings* settings) {
  VwTestSound test;
  VwSound     sound = {0};
  VwStatus    st = plan(settings, &test);
  if (st) {
    return say_usage(settings->board.name,
                     "its files hold less than the second that a test sound "
                     "lasts: gauge it with a loop of yours");
  }
  st = vw_test_make(&test, &sound);
  if (st) {
    say_status(command->name, st);
    return EXIT_FILE;
  }
  const GaugeSound file = {&sound, "gauge-board", VW_CAUTION_HEARING};
  const int        status = gauge_write(command, settings, &file);
  vw_sound_clear(&sound);
  return status;
}

int
gauge_board(const CommandName* command, const Settings* settings) {
  if (settings->n_takes > 1U) {
    return say_usage(settings->takes[1], "--write takes no file: leave it out");
  }
  if (!settings->gauge.write) {
    return say_usage("gauge board",
                     "nothing to do is given: write `volleyweave gauge board "
                     "--write --board wav-44k-mono`");
  }
  return write_test(command, settings);
}
