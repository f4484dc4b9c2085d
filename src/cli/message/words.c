#include "cli/message/figures.h"

#include "board/board.h"
#include "lamp/lamp.h"
#include "pack/pack.h"

#include <stddef.h>

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
  {"the shot is loud for longer, but the lamp is dark for the other half of "
   "the time to the next one",
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
