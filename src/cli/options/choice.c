#include "cli/options/choice.h"

#include "cli/message/say.h"
#include "cli/message/suggest.h"

#include <ctype.h>
#include <string.h>

/// A list of choices for a message: "a, b or c".
static void
list_choices(const Choice* choices, char list[128]) {
  list[0] = '\0';
  for (const Choice* choice = choices; choice->word; ++choice) {
    const bool last = !choice[1].word;
    strcat(list, choice == choices ? "" : last ? " or " : ", ");
    strcat(list, choice->word);
  }
}

bool
choose(const Choice* choices, const char* shown, const char* word, int* value) {
  const Choice* near = NULL;
  for (const Choice* choice = choices; choice->word; ++choice) {
    if (!strcmp(choice->word, word)) {
      *value = choice->value;
      return true;
    }
    near = suggest_is_near(word, choice->word) ? choice : near;
  }
  // One digit for another is no slip of the finger.
  if (near && isalpha((unsigned char)*word)) {
    say(shown, "no such word: did you mean %s?", near->word);
  } else {
    char list[128];
    list_choices(choices, list);
    say(shown, "not a value it takes: give %s", list);
  }
  return false;
}
