# Completion for bash.
include "options";

def spellings: "--" + .name, (.letter | values | "-" + .);

def alternatives(pick): [pick | spellings] | unique | join(" | ");

[.commands[].options[]] as $options
| "# Completion of volleyweave for bash, made from the program's own help.",
  "_volleyweave() {",
  "  local current=${COMP_WORDS[COMP_CWORD]} words=",
  "  COMPREPLY=()",
  "  case ${COMP_WORDS[COMP_CWORD - 1]} in",
  "    --board) words=$(\(board_names)) ;;",
  ( [$options[] | select(.words != [])] | unique_by(.name)[]
    | "    --\(.name)) words=\(choices | quoted) ;;"),
  "    \(alternatives($options[] | select(takes_path))))",
  "      mapfile -t COMPREPLY < <(compgen -f -- \"$current\")",
  "      return ;;",
  "    \(alternatives($options[] | select(.value and .words == []
                        and .name != "board" and (takes_path | not)))))",
  "      return ;;",
  "    *)",
  "      case $COMP_CWORD:${COMP_WORDS[1]}:$current in",
  "        1:* | 2:help:*) words=\([.commands[].name, "help"] | join(" ") | quoted) ;;",
  ( .commands[]
    | "        *:\(.name):-*) words=\([.options[] | spellings] | join(" ") | quoted) ;;",
      (first_words | select(. != [])) as $first
      | "        2:\(.name):*) words=\($first | join(" ") | quoted) ;;"),
  "        2:boards:*) words=$(\(board_names)) ;;",
  "        *) mapfile -t COMPREPLY < <(compgen -f -- \"$current\") ;;",
  "      esac ;;",
  "  esac",
  "  [ -z \"$words\" ] ||",
  "    mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$current\")",
  "}",
  "complete -o filenames -F _volleyweave volleyweave"
