# Completion for zsh.
include "options";

# A meaning within brackets; a colon would end it.
def described: "[" + gsub("(?<c>[\\[\\]:\\\\])"; "\\\(.c)") + "]";

def action:
  if .name == "board" then ":board:_volleyweave_boards"
  elif .words != [] then ":\(.name):(\(choices))"
  elif .value == null then ""
  elif takes_path then ":\(.name):_files"
  else ":\(.name): " end;

def specs:
  (.meaning | described) + action
  | quoted;

"#compdef volleyweave",
"# Completion of volleyweave for zsh, made from the program's own help.",
"_volleyweave_boards() { compadd -- $(\(board_names)) }",
"_volleyweave() {",
"  local state",
"  _arguments '1:command:->command' '*::argument:->argument'",
"  case $state in",
"    command)",
"      local -a commands=(",
(.commands[], {name: "help", summary: "options of a command"}
 | "        " + ("\(.name):\(.summary)" | quoted)),
"      )",
"      _describe command commands ;;",
"    argument)",
"      case $words[1] in",
(.commands[]
 | "        \(.name))",
   "          _arguments \\",
   (.options[]
    | "            "
      + (if .letter then "{-\(.letter),--\(.name)}" else "--\(.name)" end)
      + specs + " \\"),
   ((first_words | select(. != [])
     | "            " + ("1:what:(\(join(" ")))" | quoted) + " \\"),
    (select(.name == "boards")
     | "            " + ("1:board:_volleyweave_boards" | quoted) + " \\")),
   "            '*:file:_files' ;;"),
"        help) _values command \([.commands[].name] | join(" ")) ;;",
"      esac ;;",
"  esac",
"}",
"_volleyweave \"$@\""
