/// @file
/// What runs the commands; each returns the exit status, and says what went
/// wrong.
#ifndef VW_CLI_COMMANDS_H
#define VW_CLI_COMMANDS_H

#include "cli/files/files.h"
#include "cli/options/settings.h"

/// Find out what a take holds and how fast it can fire.
int command_inspect(const CommandName* command, const Settings* settings);

/// Prove files and folders against a board, or loops by themselves.
int command_check(const CommandName* command, const Settings* settings);

/// Mend loops, and prove them again.
int command_mend(const CommandName* command, const Settings* settings);

/// Put a pack onto a card.
int command_deliver(const CommandName* command, const Settings* settings);

/// List boards, or print one.
int command_boards(const CommandName* command, const Settings* settings);

/// Make all sounds of a prop.
int command_pack(const CommandName* command, const Settings* settings);

/// Say what flashes a lamp with a fire rate or a loop.
int command_lamp(const CommandName* command, const Settings* settings);

/// Make the sound that a board makes when its trigger is held.
int command_rehearse(const CommandName* command, const Settings* settings);

/// Write a page on which the sounds of takes can be tried.
int command_tryout(const CommandName* command, const Settings* settings);

/// Measure what plays sounds, by a recording of it.
int command_gauge(const CommandName* command, const Settings* settings);

/// Make what `command` makes of the takes in `settings`: what `shot`, `loop`
/// and `convert` have in common.
int make_all(const CommandName* command, const Settings* settings);

/// Make a family of every `n_each` takes, whose names were checked.
int make_each(const CommandName* command,
              const Settings*    settings,
              Destination*       destination,
              size_t             n_each);

/// One take at several fire rates, one after the other, in one file: to choose
/// by ear.
int ladder_make(const CommandName* command, const Settings* settings);

#endif
