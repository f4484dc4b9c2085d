/// @file
/// Run the program as a person would, in a folder of its own.
#ifndef TESTS_RUN_H
#define TESTS_RUN_H

#include <stdbool.h>
#include <stddef.h>

/// As somebody calls the program who installed it.
#define RUN_CALLED "volleyweave"

/// What a run left behind.
typedef struct {
  int    status; ///< Exit status; -1 where it could not run or was killed.
  char*  out;    ///< Standard output, ended by a zero.
  size_t n_out;
  char*  err; ///< Standard error, ended by a zero.
  size_t n_err;
} Run;

/// Take the program's path from the test's first argument, and go to a new
/// folder.
void run_set_up(int argc, char** argv);

/// Leave that folder and remove it.
void run_tear_down(void);

/// Run the program with the words of `line`, which are split at spaces.
Run run(const char* line);

/// Run it with standard output going to a file or a device.
Run run_into(const char* path, const char* line);

/// Run a shell's line in which "$VOLLEYWEAVE" is the program.
Run run_shell(const char* line);

/// Run as somebody who may not do everything, where the test itself may; false
/// where the program lies where nobody else can reach it.
bool run_as_nobody(const char* line, Run* run);

/// Run a shell's line with a file system of its own mounted at the folder
/// "real", where nothing else sees it; 77 where the system does not let us.
///
/// @param options Of the mount, as in "size=64k".
/// @param line Without a single quote in it.
Run run_with_card(const char* options, const char* line);

/// Whether run_with_card() can mount one.
bool run_can_mount(void);

/// Catch what is said on standard error from now on. Returns what it was.
int run_catch(void);

/// Put standard error back. What was said meanwhile is to be freed.
char* run_caught(int before);

/// Free what a run left.
void run_clear(Run* run);

/// Print a run that was not what it should be. Returns `good`.
bool run_check(bool good, const Run* run, const char* line);

/// What a line is to give: the exit status, and words on both streams; NULL:
/// nothing at all.
typedef struct {
  const char* line;
  int         status;
  const char* out;
  const char* err;
} RunCase;

/// Whether a run gave what was wanted; prints it where it did not, and frees
/// it.
bool run_gave(Run made, const RunCase* wanted);

/// For cmocka: go to a new folder "work", and leave it and remove it.
int run_enter_folder(void** state);
int run_leave_folder(void** state);

/// Whether a text is one line of the program that has `word` in it.
bool is_one_line_with(const char* text, const char* word);

/// How many files and folders lie in a folder, hidden ones too.
size_t count_files(const char* folder);

/// Remove a folder with all in it.
void remove_all(const char* folder);

/// The bytes of a file, ended by a zero; NULL where there is none.
char* read_file(const char* path, size_t* n_bytes);

/// Whether a file has these bytes.
bool has_bytes(const char* path, const char* bytes, size_t n_bytes);

#endif
