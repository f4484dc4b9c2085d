#include "board/board.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "lamp/lamp.h"
#include "pack/pack.h"

#include <stddef.h>
#include <string.h>

// Longer words are no slips of the finger.
#define LETTERS_MOST 32U

#define LAMP_HINT                                                              \
  "did you mean `volleyweave lamp 9/s`, which reports a lamp's parts, or "     \
  "`volleyweave loop --lamp-track TAKE`?"

static const FirstTry words[] = {
  {" strobe flash flasher light lights led blink timer 555 astable ",
   LAMP_HINT},
  {" resample transcode format export encode downmix mono level normalize "
   "normalise loudness amplify limit boot startup start-up reload voice ",
   "did you mean `volleyweave convert FILE`? It writes a sound whole, in the "
   "board's format"},
  {" cut trim crop clean clip single once one oneshot one-shot "
   "sample isolate tidy ",
   "did you mean `volleyweave shot TAKE`?"},
  {" info information analyze analyse analysis show probe stat stats look "
   "measure detect find view report describe examine identify ",
   "did you mean `volleyweave inspect TAKE`?"},
  {" separate slice extract several shots ",
   "did you mean `volleyweave split TAKE`? It writes each shot to a file"},
  {" repair fix heal declick ", "did you mean `volleyweave mend LOOP`?"},
  {" autofire auto automatic full-auto fullauto rapid rapidfire rapid-fire "
   "fire firing shoot repeat looper looping loops weave volley make render "
   "machinegun machine-gun hold sustain hum drone engine motor seamless build "
   "create generate run "
   "process ",
   "did you mean `volleyweave loop TAKE`?"},
  {" burst bursts salvo three-round triple ",
   "did you mean `volleyweave loop --burst 3 TAKE`?"},
  {" verify validate prove lint proof compatible ",
   "did you mean `volleyweave check --board BOARD FOLDER`?"},
  {" copy sync install burn transfer upload send write card deploy ",
   "did you mean `volleyweave deliver FOLDER --to CARD`?"},
  {" prop props all batch bundle bank soundbank kit set library everything ",
   "did you mean `volleyweave pack FOLDER`?"},
  {" play listen preview test try hear ",
   "did you mean `volleyweave tryout TAKE`, a page to hear it on, or "
   "`volleyweave rehearse LOOP`?"},
  {" board device devices player players hardware list profile profiles "
   "target targets preset presets ",
   "did you mean `volleyweave boards`?"},
  {" version ", "did you mean `volleyweave --version`?"},
  {" usage man manual ? ", "did you mean `volleyweave help`?"},
};

static const FirstTry options[] = {
  {" rate speed ",
   "did you mean --fire-rate (shots per second) or --sample-rate (of the "
   "files)?"},
  {" rpm bpm tempo rof cadence firerate fire_rate fire shots-per-second "
   "rounds-per-minute spm per-minute fps ",
   "did you mean --fire-rate, as in --fire-rate 540rpm?"},
  {" period interval spacing ms every ",
   "did you mean --fire-rate, as in --fire-rate 110ms?"},
  {" sr samplerate sample_rate srate hz frequency freq fs khz resample ",
   "did you mean --sample-rate, as in --sample-rate 22050?"},
  {" bit 8 16 24 8bit 16bit 24bit 8-bit 16-bit 24-bit depth bitdepth "
   "bit-depth bit_depth encoding resolution sample-format "
   "width ",
   "did you mean --bits, as in --bits 16?"},
  {" device player hardware profile preset for ",
   "did you mean --board, as in --board wav-22k-mono?"},
  {" mono ", "did you mean --channels 1?"},
  {" stereo ", "did you mean --channels 2?"},
  {" out outdir out-dir output-dir outfile dir directory folder dest to into ",
   "did you mean --output (-o)?"},
  {" strobe flash light lights lamp led blink ", LAMP_HINT},
  {" loop loops repeat repeats times count number rounds n ",
   "did you mean --burst (shots in a finished file) or --shots (in one cycle "
   "of the loop)?"},
  {" mode type style layout ", "did you mean --form?"},
  {" pieces ", "did you mean --form pieces?"},
  {" whole whole-file wholefile single-file one-file ",
   "did you mean --form whole-file?"},
  {" loop-points looppoints loop-point smpl markers cue cues ",
   "did you mean --form loop-points?"},
  {" crossfade cross-fade xfade fades fade-in fade-out ",
   "leave it out: shots are laid down without one, and `loop` crossfades a "
   "sound that goes on by itself"},
  {" overlap ", "did you mean --tail overlap?"},
  {" choke mute ", "did you mean --tail choke?"},
  {" pause delay break interval ",
   "did you mean --gap, the board's gap between repeats?"},
  {" separation tighten tightening gate dip depth-db ",
   "did you mean --valley, the quiet between shots, as in --valley 12?"},
  {" no-valley no-tighten no-tightening untouched ",
   "did you mean --valley none?"},
  {" pitch pitch-spread cents tune ",
   "did you mean --detune, as in --detune 20?"},
  {" random randomize randomise humanize humanise vary variation variations "
   "jitter ",
   "did you mean --detune CENTS or --level-spread DB?"},
  {" volume loud normalize normalise level amplify db lufs target ",
   "did you mean --loudness, as in --loudness -16, or --gain?"},
  {" peak true-peak headroom dbtp max-peak peak-max ",
   "did you mean --ceiling, as in --ceiling -1?"},
  {" limit limiter limiting max-limiting compress compressor ",
   "did you mean --limiting-max, as in --limiting-max 3?"},
  {" highpass high-pass hpf low-cut lowcut corner crossover driver ",
   "did you mean --speaker, as in --speaker 40mm?"},
  {" alternate round-robin roundrobin rotate cycle-takes mix merge combine ",
   "did you mean --take-turns?"},
  {" piece parts only stem stems select ",
   "did you mean --part, as in --part loop?"},
  {" cycle length duration max max-length max-cycle loop-length seconds ",
   "did you mean --cycle-max, as in --cycle-max 2s?"},
  {" threads parallel cores workers cpus ",
   "did you mean --jobs, as in --jobs 4?"},
  {" clean delete remove purge prune tidy ",
   "leave it out: a pack removes what it made and no longer makes"},
  {" save-list make-list guess prop init ", "did you mean --write-list?"},
  {" max-seconds time-limit ", "did you mean --seconds-max?"},
  {" no-dither nodither ", "did you mean --dither none?"},
  {" overwrite clobber replace yes y ", "did you mean --force (-f)?"},
  {" silent ", "did you mean --quiet (-q)?"},
  {" dry simulate pretend check test preview ", "did you mean --dry-run (-n)?"},
  {" vv debug details ", "did you mean --verbose (-v)?"},
  {" V ", "did you mean --version?"},
  {" ? ", "did you mean --help (-h)?"},
  {" text plain human ",
   "leave it out: text is printed unless --json is given"},
  {" mp3 ogg flac aac format ",
   "leave it out: the board decides, else it is WAV, since MP3 "
   "and AAC add a pause at both ends"},
  {" wav ", "leave it out: WAV is written"},
};

static size_t
least_of(size_t a, size_t b) {
  return a < b ? a : b;
}

// Optimal string alignment: edit distance in which two neighbours may swap
// (F. J. Damerau, "A technique for computer detection and correction of
// spelling errors", Communications of the ACM 7(3), 1964).
size_t
suggest_distance(const char* a, const char* b) {
  const size_t n_a = strlen(a);
  const size_t n_b = strlen(b);
  size_t       edits[LETTERS_MOST + 1U][LETTERS_MOST + 1U] = {{0}};
  if (n_a > LETTERS_MOST || n_b > LETTERS_MOST) {
    return LETTERS_MOST;
  }
  for (size_t i = 0; i <= n_a; ++i) {
    for (size_t j = 0; j <= n_b; ++j) {
      if (!i || !j) {
        edits[i][j] = i + j;
        continue;
      }
      const size_t other = a[i - 1U] == b[j - 1U] ? 0U : 1U;
      const size_t shift = least_of(edits[i - 1U][j], edits[i][j - 1U]) + 1U;
      edits[i][j] = least_of(shift, edits[i - 1U][j - 1U] + other);
      if (i > 1U && j > 1U && a[i - 1U] == b[j - 2U] &&
          a[i - 2U] == b[j - 1U]) {
        edits[i][j] = least_of(edits[i][j], edits[i - 2U][j - 2U] + 1U);
      }
    }
  }
  return edits[n_a][n_b];
}

bool
suggest_is_near(const char* word, const char* name) {
  const size_t most = strlen(name) < 5U ? 1U : 2U;
  return suggest_distance(word, name) <= most;
}

const char*
suggest_nearer(const char* word, const char* best, const char* name) {
  return suggest_is_near(word, name) &&
             (!best ||
              suggest_distance(word, name) < suggest_distance(word, best))
           ? name
           : best;
}

const char*
suggest_hint(const FirstTry* tries, size_t n_tries, const char* word) {
  for (size_t i = 0; i < n_tries; ++i) {
    if (text_lists(tries[i].tries, word)) {
      return tries[i].hint;
    }
  }
  return NULL;
}

const char*
suggest_for_word(const char* word) {
  return suggest_hint(words, sizeof(words) / sizeof(words[0]), word);
}

const char*
suggest_for_option(const char* name) {
  return suggest_hint(options, sizeof(options) / sizeof(options[0]), name);
}

const Choice words_repeat[] = {{"whole-file", VW_REPEAT_WHOLE_FILE},
                               {"loop-points", VW_REPEAT_LOOP_POINTS},
                               {"three-files", VW_REPEAT_THREE_FILES},
                               {"nothing", VW_REPEAT_NOTHING},
                               {NULL, 0}};

const Choice words_release[] = {{"stops", VW_RELEASE_STOPS},
                                {"finishes", VW_RELEASE_FINISHES},
                                {NULL, 0}};

const Choice words_tightening[] = {{"plain", VW_BEND_PLAIN},
                                   {"natural", VW_BEND_NATURAL},
                                   {NULL, 0}};

const Choice words_tail[] = {{"overlap", VW_TAIL_OVERLAP},
                             {"choke", VW_TAIL_CHOKE},
                             {NULL, 0}};

const Choice words_kind[] = {{"shot", VW_KIND_SHOT},
                             {"several-shots", VW_KIND_SEVERAL_SHOTS},
                             {"rapid-fire", VW_KIND_RAPID_FIRE},
                             {"sustained", VW_KIND_SUSTAINED},
                             {NULL, 0}};

const Choice words_chip[] = {{"bipolar", VW_CHIP_BIPOLAR},
                             {"cmos", VW_CHIP_CMOS},
                             {NULL, 0}};

const Choice words_make[] = {{"shot", VW_MAKE_SHOT},
                             {"loop", VW_MAKE_LOOP},
                             {"burst", VW_MAKE_BURST},
                             {"whole", VW_MAKE_WHOLE},
                             {NULL, 0}};

const Choice words_on_reason[] = {{"usual", VW_ON_USUAL},
                                  {"asked", VW_ON_ASKED},
                                  {"sound", VW_ON_SOUND},
                                  {"least", VW_ON_LEAST},
                                  {"most", VW_ON_MOST},
                                  {"half", VW_ON_HALF},
                                  {NULL, 0}};

const Choice words_on_because[] = {
  {"default: 30 ms, clearly visible, and at most 0.4 of the period",
   VW_ON_USUAL},
  {"as asked", VW_ON_ASKED},
  {"while the shot is within 12 dB of its crest", VW_ON_SOUND},
  {"the shot is loud for less, but 20 ms are clearly visible", VW_ON_LEAST},
  {"the shot is loud for longer, but 50 ms are enough", VW_ON_MOST},
  {"half the time to the next shot, the most: the lamp is dark for the other "
   "half",
   VW_ON_HALF},
  {NULL, 0}};

const char* const words_flash[2] = {"no flash", "one flash"};

const char*
choice_word(const Choice* choices, int value) {
  while (choices->word && choices->value != value) {
    ++choices;
  }
  return choices->word ? choices->word : "";
}
