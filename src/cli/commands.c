#include "cli/commands.h"

#include "cli/files/paths.h"
#include "cli/make.h"
#include "cli/message/say.h"
#include "cli/message/suggest.h"
#include "cli/message/text.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const Command command_table[] = {
  {{"inspect", COMMAND_INSPECT},
   "[OPTIONS] TAKE...",
   "what is in a take, and how fast it can fire",
   "inspect zap.wav",
   command_inspect},
  {{"shot", COMMAND_SHOT},
   "[OPTIONS] TAKE...",
   "a clean single shot",
   "shot --sample-rate 22050 --bits 8 zap.wav",
   make_all},
  {{"loop", COMMAND_LOOP},
   "[OPTIONS] TAKE...",
   "the rapid fire of a take, as your board plays it",
   "loop --fire-rate 9/s zap.wav",
   make_all},
  {{"convert", COMMAND_CONVERT},
   "[OPTIONS] FILE...",
   "any other sound of the prop: horn, voice, reload",
   "convert --loudness -16 horn.wav",
   make_all},
  {{"check", COMMAND_CHECK},
   "[--board BOARD] [OPTIONS] FILE|FOLDER...",
   "whether files suit a board: header, format, names, room",
   "check --board wav-22k-mono volleyweave-out/wav-22k-mono",
   command_check},
  {{"deliver", COMMAND_DELIVER},
   "FOLDER --to CARD [OPTIONS]",
   "put a pack onto a card, in order, and read it back",
   "deliver volleyweave-out/wav-22k-mono --to /media/card",
   command_deliver},
  {{"pack", COMMAND_PACK | PROP_KEY},
   "[OPTIONS] FILE|FOLDER",
   "all sounds of a prop for its boards, and a page to try them on",
   "pack --board wav-22k-mono takes",
   command_pack},
  {{"rehearse", COMMAND_REHEARSE},
   "--hold TIMES --board BOARD -o FILE.wav [OPTIONS] LOOP|PACK",
   "what is heard when a board's trigger is held so long",
   "rehearse --hold 1.2s --board wav-44k-mono zap.loop.wav -o held.wav",
   command_rehearse},
  {{"tryout", COMMAND_TRYOUT},
   "[OPTIONS] TAKE...",
   "a page on which the sounds of takes can be tried",
   "tryout --board wav-44k-mono zap.wav",
   command_tryout},
  {{"boards", COMMAND_BOARDS},
   "[OPTIONS] [BOARD]",
   "the boards at hand; or one as a file to edit",
   "boards wav-22k-mono",
   command_boards},
  {{"lamp", COMMAND_LAMP},
   "[OPTIONS] FIRE-RATE|LOOP.wav|PROP",
   "what to build or program so that a lamp flashes with it",
   "lamp --supply 5V 9/s",
   command_lamp},
  {{NULL, 0}, NULL, NULL, NULL, NULL}};

const Command*
command_find(const char* name) {
  for (const Command* command = command_table; command->name.name; ++command) {
    if (!strcmp(command->name.name, name)) {
      return command;
    }
  }
  return NULL;
}

static const char*
nearest(const char* word) {
  for (const Command* command = command_table; command->name.name; ++command) {
    if (suggest_is_near(word, command->name.name)) {
      return command->name.name;
    }
  }
  return suggest_is_near(word, "help") ? "help" : NULL;
}

static bool
looks_like_a_file(const char* word) {
  return strchr(word, '/') || (strchr(word, '.') && word[0] != '.') ||
         !access(word, F_OK);
}

int
command_refuse(const char* word) {
  const char* const hint = suggest_for_word(word);
  const char* const near = nearest(word);
  if (word[0] == '-') {
    return say_usage(word,
                     "the command comes first, then its options: try "
                     "`volleyweave loop --fire-rate 9/s zap.wav`");
  }
  if (path_is_folder(word)) {
    return say_usage(
      word, "a folder: did you mean `volleyweave loop %s/*.wav`?", word);
  }
  if (looks_like_a_file(word)) {
    char* const take = text_quoted(word);
    const int   status = say_usage(word,
                                 "a file, where a command is meant: did you "
                                   "mean `volleyweave loop %s`?",
                                 take ? take : "TAKE");
    free(take);
    return status;
  }
  if (hint) {
    return say_usage(word, "no such command: %s", hint);
  }
  if (near) {
    return say_usage(
      word, "no such command: did you mean `volleyweave %s`?", near);
  }
  return say_usage(
    word,
    "no such command: there are inspect, shot, loop, convert, pack, check, "
    "deliver, rehearse, tryout, boards, lamp and help");
}
