// Flashes: R. S. Fisher and others, and G. Harding and others, Epilepsia 46(9),
// 2005; W3C, Web Content Accessibility Guidelines 2.2, criterion 2.3.1. Sound:
// NIOSH publication 98-126, 1998.

#include "base/caution.h"

#include <string.h>

// Of a comment.
#define COLUMNS 72U

#define FAST "lamps with three flashes a second or more "
#define SEIZURES "can trigger seizures in people with photosensitive epilepsy"
#define MOST ", most at 15 to 25 (Epilepsia 46(9), 2005; screens are held to 3)"
#define WARN ": warn all, obey local rules"
#define LICENSED                                                               \
  "mains, pyrotechnics and weapon-like props on a set or stage belong to "     \
  "licensed people"

/// All, the most serious first.
static const VwCaution cautions[] = {
  {VW_CAUTION_FLASH, "flash", FAST SEIZURES WARN},
  {VW_CAUTION_LAMP_FLASH, "flash", FAST SEIZURES MOST WARN},
  {VW_CAUTION_UNTRIMMED,
   "flash",
   "until its trimmer is set a timer chip may flash this lamp three times a "
   "second or more, which " SEIZURES MOST WARN},
  {VW_CAUTION_LOOK_ALIKE,
   "look_alike",
   "a prop that looks like a weapon may be taken for one: local rules and "
   "licensed practice come first"},
  {VW_CAUTION_WIRING,
   "wiring",
   "fuse the battery, check the polarity before power comes on, never charge "
   "it unwatched, follow the data sheets; " LICENSED},
  {VW_CAUTION_SWEEP,
   "hearing",
   "a sweep is loud and shrill: never at the ear. Start with the volume down, "
   "away from heads, animals and sleepers; over 85 dB(A) wear ear muffs (NIOSH "
   "98-126)"},
  {VW_CAUTION_HEARING,
   "hearing",
   "a small speaker is loud at the ear: set it with the volume down, away from "
   "heads, to less than 85 dB(A) at the ear (NIOSH 98-126)"},
};

#define N_CAUTIONS (sizeof(cautions) / sizeof(cautions[0]))

const VwCaution*
vw_caution(unsigned which, size_t index) {
  for (size_t i = 0; i < N_CAUTIONS; ++i) {
    if ((which & cautions[i].which) && !index--) {
      return &cautions[i];
    }
  }
  return NULL;
}

void
vw_caution_comment(const VwCaution* caution, FILE* to) {
  const char* text = caution->text;
  size_t      column = 0;
  fprintf(to, " *\n * CAUTION:\n *");
  while (*text) {
    const size_t n = strcspn(text, " ");
    if (column + n > COLUMNS) {
      fprintf(to, "\n *");
      column = 0;
    }
    fprintf(to, " %.*s", (int)n, text);
    column += n + 1U;
    text += n + strspn(text + n, " ");
  }
  fprintf(to, "\n");
}
