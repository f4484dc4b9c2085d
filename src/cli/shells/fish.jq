# Completion for fish.
include "options";

def described: " -d " + quoted;

"# Completion of volleyweave for fish, made from the program's own help.",
"complete -c volleyweave -n __fish_use_subcommand -f -a help"
  + ("options of a command" | described),
"complete -c volleyweave -n '__fish_seen_subcommand_from help' -f -a "
  + ([.commands[].name] | join(" ") | quoted),
"complete -c volleyweave -n '__fish_seen_subcommand_from boards' -f -a "
  + ("(\(board_names))" | quoted),
(.commands[]
 | "complete -c volleyweave -n __fish_use_subcommand -f -a \(.name)"
     + (.summary | described),
   "complete -c volleyweave -n '__fish_seen_subcommand_from \(.name)'" as $start
   | (first_words | select(. != []) | $start + " -f -a " + (join(" ") | quoted)),
     (.options[]
      | $start + " -l \(.name)"
          + (.letter | if . then " -s \(.)" else "" end)
          + (if .name == "board" then " -x -a " + ("(\(board_names))" | quoted)
             elif .words != [] then " -x -a " + (choices | quoted)
             elif .value == null then ""
             elif takes_path then " -r"
             else " -x" end)
          + (.meaning | described)))
