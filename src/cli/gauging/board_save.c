// A board that was gauged, to its file.

#include "base/text.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Where a board of this name goes: to the user's own, or to the file named. To
/// be freed.
static char*
path_of(const char* asked) {
  char* const folder = board_list_folder();
  char* const path = board_file_is_path(asked) || !folder
                       ? text_format("%s", asked)
                       : text_format("%s/%s" BOARD_FILE_ENDING, folder, asked);
  free(folder);
  return path;
}

/// Make the folders in which a file is to lie, as far as they are missing.
static void
make_folders(char* path) {
  for (char* at = path + 1; *at; ++at) {
    if (*at == '/') {
      *at = '\0';
      (void)mkdir(path, 0777); // what fails here is said when it is written
      *at = '/';
    }
  }
}

/// A figure to tenths of a millisecond, if it was found for sure.
static void
set_ms(const VwGauged* figure, double* ms) {
  if (!figure->why && !figure->doubt) {
    *ms = floor(fmax(figure->value, 0.0) * 10.0 + 0.5) / 10.0;
  }
}

/// What is known of the board, and what was found.
static VwBoard
board_of(const BoardGauged* gauged) {
  const VwGaugedBoard* const found = &gauged->board;
  VwBoard                    board =
    gauged->settings->has_board ? gauged->settings->board : vw_board_defaults();
  if (board.repeat == VW_REPEAT_WHOLE_FILE) {
    set_ms(&found->gap_ms, &board.gap_ms);
  }
  set_ms(&found->delay_ms, &board.delay_ms);
  set_ms(&found->press_ms, &board.press_min_ms);
  if (!found->release.why && !found->release.doubt) {
    board.release = (VwRelease)found->release.value;
  }
  return board;
}

static VwStatus
print(const VwBoard* board, VwBytes* bytes) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  const bool  good = out && board_file_print(board, out);
  if (out && (fclose(out) || !good)) {
    free(text);
    return VW_NO_MEMORY;
  }
  *bytes = (VwBytes){(unsigned char*)text, n};
  return out ? VW_OK : VW_NO_MEMORY;
}

static VwStatus
write(const BoardGauged* gauged, const VwBoard* board, const char* path) {
  const Settings* const settings = gauged->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  VwOutput              output = {.path = path};
  size_t                at = 0;
  VwStatus              st = print(board, &output.bytes);
  st = st ? st : vw_write(&output, 1U, &options, &at);
  vw_bytes_clear(&output.bytes);
  return st;
}

bool
gauge_board_has_name(const Settings* settings) {
  VwBoard     board = vw_board_defaults();
  char* const path = path_of(settings->gauge.save);
  const bool  good = path && board_file_name(path, &board);
  free(path);
  return good;
}

bool
gauge_board_save(BoardGauged* gauged) {
  const Settings* const settings = gauged->settings;
  VwBoard               board = board_of(gauged);
  char* const           path = path_of(settings->gauge.save);
  if (!path || !board_file_name(path, &board)) {
    free(path);
    return false;
  }
  if (!board_file_is_path(settings->gauge.save) && !settings->dry_run) {
    make_folders(path);
  }
  const VwStatus st = write(gauged, &board, path);
  if (st) {
    say_status(path, st);
    free(path);
    return false;
  }
  gauged->saved = path;
  return true;
}
