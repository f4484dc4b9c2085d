// Each call of the system failing, and each request for memory; runs that are
// killed or asked to end at any moment: what was there before is there after,
// or all that was to be made.
//
// Of all this a sample is tried; with VOLLEYWEAVE_WHOLE_SWEEPS in the
// environment everything.

#include "support/check.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <errno.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static bool
is_whole_sweep(void) {
  return getenv("VOLLEYWEAVE_WHOLE_SWEEPS") != NULL;
}

/* A folder, and what a run makes of it */

/// A line of the program. A pack may be partly made: its files are whole.
typedef struct {
  const char* line;
  bool        partly;
} Job;

static const Job jobs[] = {
  {"loop -q --fire-rate 8/s --plot p.svg zap.wav", false},
  {"loop -f --form whole-file --fire-rate 20/s --valley none zap.wav", false},
  {"rehearse -q --hold 1s --board wav-22k-mono -o held.wav "
   "volleyweave-out/zap.loop.wav",
   false},
  {"lamp -q --header lamp.h --brightness-steps 8 "
   "volleyweave-out/zap.loop.wav",
   false},
  {"convert -q -o made.wav zap.wav", false},
  {"pack -q -j 1 --valley 12 --board wav-22k-mono -o pk p.ini", true},
  {"deliver -q pk/wav-22k-mono --to card", true},
};

static char*
shell(const char* line) {
  Run made = run_shell(line);
  free(made.err);
  return made.out;
}

// What lies in "work", a line each: digest and name. What lists and the page
// say changes on the way of a pack, and the version before is kept.
static char*
listing(bool partly) {
  return shell(partly
                 ? "cd work && find . -type f ! -name '.volleyweave.*' ! -name "
                   "tryout.html ! -path '*.before/*' -exec cksum {} + | sort"
                 : "cd work && find . -type f -exec cksum {} + | sort");
}

static void
start_again(void) {
  free(shell("rm -rf work mark && cp -a before work"));
}

static int
set_up(void** state) {
  (void)state;
  wav_file_write(&(WavFile){.path = "zap.wav", .seconds = 0.4});
  Run made = run_shell(
    "mkdir before before/card && cd before && mv ../zap.wav . && "
    "printf '[prop]\\nname = x\\nfire-rate = 9/s\\n[sound zap]\\ntake = "
    "zap.wav\\nmake = loop\\n[sound one]\\ntake = zap.wav\\nmake = shot\\n' "
    ">p.ini && \"$VOLLEYWEAVE\" loop -q --fire-rate 9/s zap.wav && "
    "\"$VOLLEYWEAVE\" pack -q -j 1 --board wav-22k-mono -o pk p.ini");
  const bool good = run_check(!made.status, &made, "set up");
  run_clear(&made);
  return good ? 0 : -1;
}

/* Faults */

typedef struct {
  const char* call;
  int         error;
} Fault;

static const Fault faults[] = {{"memory", ENOMEM},
                               {"open", EIO},
                               {"opendir", EIO},
                               {"read", EIO},
                               {"create", EACCES},
                               {"write", ENOSPC},
                               {"fsync", EIO},
                               {"close", EIO},
                               {"link", EPERM},
                               {"rename", EIO},
                               {"mkdir", EACCES}};

static const char* preload;

/// What a job makes of the folder if nothing fails, and without it.
typedef struct {
  const Job*   job;
  const Fault* fault;
  bool         for_good;
  char*        before;
  char*        good;
  char*        said; ///< On standard error, if nothing fails.
} Sweep;

static Run
run_failing(const Sweep* sweep, size_t at) {
  char line[1024];
  (void)snprintf(line,
                 sizeof(line),
                 "cd work && FAULT_CALL=%s FAULT_ERROR=%d FAULT_AT=%zu %s "
                 "FAULT_MARK=../mark LD_PRELOAD=%s \"$VOLLEYWEAVE\" %s",
                 sweep->fault->call,
                 sweep->fault->error,
                 at,
                 sweep->for_good ? "FAULT_ON=1" : "",
                 preload,
                 sweep->job->line);
  return run_shell(line);
}

/// Whether each line of a listing is in one of two.
static bool
is_of(const char* after, const char* one, const char* other) {
  bool  all = true;
  char* rest = NULL;
  char* copy = strdup(after);
  for (char* line = strtok_r(copy, "\n", &rest); line;
       line = strtok_r(NULL, "\n", &rest)) {
    all =
      check_that(strstr(one, line) || strstr(other, line), "%s", line) && all;
  }
  free(copy);
  return all;
}

/// Whether a run left the old or the new, and said so.
static bool
is_clean(const Sweep* sweep, const Run* made, const char* mark) {
  char* const after = listing(sweep->job->partly);
  const bool  memory = !strcmp(sweep->fault->call, "memory");
  const bool  old = !strcmp(after, sweep->before);
  const bool new = !strcmp(after, sweep->good);
  bool ok = check_that(made->status == 0 || made->status == 1, "status");
  ok &= check_that(made->status == 0 || strstr(made->err, "volleyweave: "),
                   "a message");
  // Advice that lacks what could not be tried is a wrong one.
  ok &= check_that(made->status || !strcmp(made->err, sweep->said), "advice");
  // What is asked at the end, for words alone, may fail after the writing; and
  // what fails for good may keep the old from being put back.
  ok &= check_that(sweep->job->partly ? is_of(after, sweep->before, sweep->good)
                   : made->status     ? old || (memory && new)
                                      : new || memory,
                   "old or new");
  ok &= check_that(memory || !strcmp(mark, "0\n"), "leaks: %s", mark);
  free(after);
  return ok;
}

/// Let it fail once; whether it came to that.
static bool
fail_at(const Sweep* sweep, size_t at, bool* ok) {
  size_t n = 0;
  start_again();
  Run         made = run_failing(sweep, at);
  char* const mark = read_file("mark", &n);
  const bool  good = !mark || is_clean(sweep, &made, mark);
  run_check(good, &made, sweep->job->line);
  *ok &= check_that(good,
                    "%s %zu fails%s",
                    sweep->fault->call,
                    at,
                    sweep->for_good ? " for good" : "");
  run_clear(&made);
  free(mark);
  return mark != NULL;
}

static size_t
next_of(size_t at) {
  return is_whole_sweep() ? at + 1U : 7U * at - 3U; // 1, 4, 25, 172
}

static void
test_faults(void** state) {
  (void)state;
  bool   ok = true;
  size_t n = 0;
  for (size_t i = 0; i < COUNT(jobs); ++i) {
    Sweep sweep = {.job = &jobs[i]};
    char  line[512];
    start_again();
    sweep.before = listing(jobs[i].partly);
    (void)snprintf(
      line, sizeof(line), "cd work && \"$VOLLEYWEAVE\" %s", jobs[i].line);
    Run made = run_shell(line);
    free(made.out);
    sweep.said = made.err;
    sweep.good = listing(jobs[i].partly);
    ok &= check_that(strcmp(sweep.before, sweep.good), "%s: works", line);
    for (size_t k = 0; k < 2U * COUNT(faults); ++k) {
      sweep.fault = &faults[k / 2U];
      sweep.for_good = k % 2U;
      // What fails for good may keep the old from being put back.
      if (sweep.for_good && !strcmp(sweep.fault->call, "rename")) {
        continue;
      }
      for (size_t at = 1; fail_at(&sweep, at, &ok); at = next_of(at)) {
        ++n;
      }
    }
    free(sweep.before);
    free(sweep.good);
    free(sweep.said);
  }
  printf("%zu faults\n", n);
  assert_true(ok && n > 100U);
}

/* The page */

// A page holds the take that it shows, or there is none, also if the take can
// be read only once.
static void
test_page(void** state) {
  (void)state;
  bool ok = true;
  start_again();
  free(shell("mkdir -p app/bin app/share/volleyweave && cp \"$VOLLEYWEAVE\" "
             "app/bin/volleyweave && echo '<!-- written -->' "
             ">app/share/volleyweave/volleyweave.html"));
  for (size_t at = 1;; ++at) {
    char   line[1024];
    size_t n = 0;
    (void)snprintf(line,
                   sizeof(line),
                   "cd work && rm -f page.html ../mark; FAULT_CALL=open "
                   "FAULT_ERROR=5 FAULT_AT=%zu FAULT_MARK=../mark "
                   "LD_PRELOAD=%s ../app/bin/volleyweave tryout -q "
                   "--fire-rate 8/s -o page.html zap.wav",
                   at,
                   preload);
    Run         made = run_shell(line);
    char* const mark = read_file("mark", &n);
    char* const page = read_file("work/page.html", &n);
    // Without the page that is installed it is a plain one.
    const bool good = made.status ? made.status == 1 && *made.err && !page
                                  : page && (strstr(page, "\"zap.wav\"") ||
                                             strstr(page, "<audio"));
    ok &= run_check(good, &made, line);
    const bool came = mark != NULL;
    free(mark);
    free(page);
    run_clear(&made);
    if (!came) {
      assert_true(at > 4U);
      break;
    }
  }
  assert_true(ok);
}

/* Ends */

/// Start a job, and send it a signal after some time. Whether that ended it.
static bool
stop(const Job* job, int signal_sent, long delay_us) {
  const struct timespec delay = {0, delay_us * 1000};
  const pid_t           child = fork();
  int                   status = 0;
  if (child == 0) {
    char line[512];
    (void)snprintf(line,
                   sizeof(line),
                   "cd work && exec \"$VOLLEYWEAVE\" %s 2>../said",
                   job->line);
    (void)execl("/bin/sh", "sh", "-c", line, (char*)NULL);
    _exit(127);
  }
  nanosleep(&delay, NULL);
  (void)kill(child, signal_sent);
  return waitpid(child, &status, 0) == child && WIFSIGNALED(status);
}

static bool
has_left(void) {
  char* const left =
    shell("cd work && find . -name '.volleyweave-*' -o -name '*.making'");
  const bool has = *left != '\0';
  free(left);
  return has;
}

/// Stop a job: files are whole; asked to end, nothing is left; the next run
/// makes all.
static bool
stop_once(const Sweep* sweep, int signal_sent, long delay_us) {
  char line[512];
  start_again();
  (void)stop(sweep->job, signal_sent, delay_us);
  bool ok = check_that(signal_sent == SIGKILL || !has_left(), "none is left");
  // What a killed run left on its way is no file of the job.
  char* const after = shell(
    "cd work && find . -type f ! -name '.volleyweave*' ! -path '*.making/*' ! "
    "-path '*.before/*' ! -name COPYING.TMP ! -name tryout.html -exec cksum {} "
    "+ | sort");
  ok &= is_of(after, sweep->before, sweep->good);
  free(after);
  (void)snprintf(
    line, sizeof(line), "cd work && \"$VOLLEYWEAVE\" %s", sweep->job->line);
  free(shell(line));
  char* const again = listing(true);
  ok &= check_that(!strcmp(again, sweep->good), "made again");
  ok &= check_that(!has_left(), "cleared");
  free(again);
  return check_that(
    ok, "%s: signal %d after %ld us", sweep->job->line, signal_sent, delay_us);
}

static void
test_stopped(void** state) {
  (void)state;
  static const int    signals[] = {SIGKILL, SIGINT, SIGTERM};
  static const size_t which[] = {0, 5, 6}; // loop, pack, deliver
  const int           n = is_whole_sweep() ? 1000 : 18;
  uint32_t            bits = 17;
  bool                ok = true;
  for (size_t i = 0; i < COUNT(which); ++i) {
    Sweep sweep = {.job = &jobs[which[i]]};
    char  line[512];
    start_again();
    sweep.before = listing(true);
    (void)snprintf(
      line, sizeof(line), "cd work && \"$VOLLEYWEAVE\" %s", sweep.job->line);
    free(shell(line));
    sweep.good = listing(true);
    for (int k = 0; k < n / 3; ++k) {
      bits = bits * 1664525U + 1013904223U;
      ok &= stop_once(&sweep, signals[k % 3], (long)(bits >> 8U) % 60000);
    }
    free(sweep.before);
    free(sweep.good);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_faults),
                                     cmocka_unit_test(test_page),
                                     cmocka_unit_test(test_stopped)};
  preload = argc > 2 ? argv[2] : "";
  run_set_up(argc, argv);
  const int failed = cmocka_run_group_tests(tests, set_up, NULL);
  run_tear_down();
  return failed;
}
