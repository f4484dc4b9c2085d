#include "cli/message/figures.h"

// R. S. Fisher and others, and G. Harding and others, Epilepsia 46(9), 2005;
// W3C, Web Content Accessibility Guidelines 2.2, criterion 2.3.1. On a screen
// the documents are named, not the people.
#define SEIZURES                                                               \
  "can trigger seizures in people with photosensitive epilepsy, most at 15 "   \
  "to 25 (Epilepsia 46(9), 2005); screens are held to three flashes a "        \
  "second: warn people, and follow local rules for shows and events"

/// All, in the order in which they are given.
static const struct {
  unsigned    caution;
  const char* key;
  const char* text;
} cautions[] = {
  {CAUTION_FLASH,
   "flash",
   "lamps flashing this fast can trigger seizures in people with "
   "photosensitive epilepsy: warn people, follow local rules"},
  {CAUTION_LAMP_FLASH,
   "flash",
   "lamps flashing three times a second or more " SEIZURES},
  {CAUTION_UNTRIMMED,
   "flash",
   "until its trimmer is set a timer chip may flash this lamp three times a "
   "second or more, which " SEIZURES},
  {CAUTION_HEARING,
   "hearing",
   "a small speaker near an ear is far louder than at arm's length: try it "
   "with the volume down, away from heads"},
  {CAUTION_LAMP_HEARING,
   "hearing",
   "sound near an ear is far louder than at arm's length: keep it below 85 "
   "dB(A) where the ear is (NIOSH 98-126: 8 hours), 15 minutes at 100"},
  {CAUTION_LOOK_ALIKE,
   "look_alike",
   "a prop that looks like a weapon may be taken for one: local rules come "
   "first"},
  {CAUTION_WIRING,
   "wiring",
   "follow the data sheets of battery and chip; fuse the battery, check the "
   "polarity before power comes on, and never leave it charging alone"},
  {CAUTION_SCREEN,
   "flash",
   "The disc below flashes with the shots, often three times a second "
   "or more. Flashing light can bring on seizures in people with "
   "photosensitive epilepsy, also in people who do not know of it. Ask those "
   "who look on; leave it off where you cannot."},
  {CAUTION_SHEET,
   "hearing",
   "Sound: shots near an ear can harm it. Set the volume with the speaker away "
   "from the head."},
  {CAUTION_SHEET,
   "flash",
   "Lamp: from three flashes a second on it can bring on seizures. Put a sign "
   "up, and give it a switch of its own."},
  {CAUTION_SHEET,
   "wiring",
   "Battery: a short melts wires. A fuse at the battery, no loose cells, "
   "lithium cells charged only outside the prop and watched."},
  {CAUTION_SHEET,
   "look_alike",
   "Looks: a prop that looks like a weapon is treated as one. Carry it "
   "covered, mark it, and follow the rules of the place."},
};

#define N_CAUTIONS (sizeof(cautions) / sizeof(cautions[0]))

unsigned
caution_of_flashes(double pulse_hz) {
  // A rate that whole frames made 1,000 ppm slower is still the same.
  return 1000.0 * pulse_hz >= 999.0 * CAUTION_FLASHES_PER_S ? CAUTION_FLASH
                                                            : 0U;
}

const char*
caution_text(unsigned caution) {
  for (size_t i = 0; i < N_CAUTIONS; ++i) {
    if (cautions[i].caution == caution) {
      return cautions[i].text;
    }
  }
  return NULL;
}

const char*
caution_nth(unsigned which, size_t index) {
  for (size_t i = 0; i < N_CAUTIONS; ++i) {
    if (which & cautions[i].caution && !index--) {
      return cautions[i].text;
    }
  }
  return NULL;
}

Figures*
caution_figures(unsigned which) {
  Figures* const made = figures_new();
  for (size_t i = 0; i < N_CAUTIONS; ++i) {
    if (which & cautions[i].caution) {
      figures_set(made, cautions[i].key, cautions[i].text);
    }
  }
  return made;
}

void
caution_lines(unsigned which, FILE* out) {
  for (size_t i = 0; i < N_CAUTIONS; ++i) {
    if (which & cautions[i].caution) {
      line_wrap(out, "CAUTION", cautions[i].text);
    }
  }
}
