// A board that was gauged, to its file and its picture.

#include "base/text.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/gauging/gauging.h"
#include "cli/message/message.h"
#include "cli/plot/plot.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// So many gaps are seen in a picture.
#define GAPS_SHOWN 4U

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

/// Draw the repeats of one press, and the gaps between them.
static VwStatus
draw(const BoardGauged* gauged, VwBytes* bytes) {
  const VwGaugedBoard* const board = &gauged->board;
  const GaugePicture         of = {
            .path = gauged->path,
            .sound = &gauged->recording,
            .headline = "A board's repeats, and the gaps between them",
            .description = "The recording of a board, with the gaps between its "
                                   "repeats, and the first of them closely.",
            .heading = board->n_running ? "Repeats, as they were recorded"
                                        : "The recording: no two repeats follow",
            .name = "gap",
            .begins = "a repeat ends",
            .ends = "the next starts",
            .first_s = board->first_gap_s,
            .long_s = board->gap_long_s,
            .each_s = board->repeat_s,
            .n = board->n_running < GAPS_SHOWN ? board->n_running : GAPS_SHOWN};
  return gauge_plot(&of, gauged->settings->plot, bytes);
}

/// Write what is asked for, all or nothing. False, and said, if that fails.
///
/// @param path Of the board's file; NULL: none.
static bool
write(const BoardGauged* gauged, const VwBoard* board, const char* path) {
  const Settings* const settings = gauged->settings;
  const VwWriteOptions  options = {.force = settings->force,
                                   .dry_run = settings->dry_run,
                                   .takes = settings->takes,
                                   .n_takes = settings->n_takes};
  VwOutput              outputs[2] = {{0}};
  size_t                n = 0;
  size_t                at = 0;
  VwStatus              st = VW_OK;
  if (path) {
    st = print(board, &outputs[n].bytes);
    outputs[n++].path = path;
  }
  if (!st && settings->plot) {
    st = draw(gauged, &outputs[n].bytes);
    outputs[n].path = settings->plot;
    at = n++;
  }
  st = st ? st : vw_write(outputs, n, &options, &at);
  if (st) {
    plot_say(outputs[at].path, st);
  }
  vw_bytes_clear(&outputs[0].bytes);
  vw_bytes_clear(&outputs[1].bytes);
  return !st;
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
  const char* const     save = settings->gauge.save;
  VwBoard               board = board_of(gauged);
  char* const           path = save ? path_of(save) : NULL;
  if (save && (!path || !board_file_name(path, &board))) {
    free(path);
    return false;
  }
  if (save && !board_file_is_path(save) && !settings->dry_run) {
    make_folders(path);
  }
  if (!write(gauged, &board, path)) {
    free(path);
    return false;
  }
  gauged->saved = path;
  return true;
}
