# What each shell's completion is made of, from `volleyweave help --json`.

# The words between which an option has to choose.
def choices: .words | join(" ");

# Does its value name a file or a folder?
def takes_path: .value | IN("FILE", "FOLDER", "LOOP", "WHERE");

# What may stand first after a command's name: "board|speaker|lamp [OPTIONS]".
def first_words:
  [.arguments | match("^[a-z]+([|][a-z]+)+").string | split("|")[]];

# A text between single quotes.
def quoted: "'" + gsub("'"; "'\\''") + "'";

# Prints the names of the boards that the program knows, one a line.
def board_names:
  "volleyweave boards 2>/dev/null | awk '!NF { exit } NR > 1' | cut -d ' ' -f 1";
