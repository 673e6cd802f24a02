"""What is said on a page where the terminal names an option, a command or a table of a file."""

from __future__ import annotations

from typing import Final

from woold.words import to_say

__all__ = ["ON_PAGES"]

_UNIT_IN_HEADING = to_say("Write it in the heading, as in 'time [s]' or 'dancer [deg]'.")
_COLUMN = to_say("Name it below “Columns of other names”, a line for each.")
_ZONES = to_say("Give the limits of the zones of height, or a case for each load type.")

ON_PAGES: Final[dict[str, str]] = {
    # dancer, traces and films of it
    "the case has no [dancer] with springs": to_say("the case has no dancer with springs"),
    "where the stops lie in the recording is not known, and with them the arm's angle: state them"
    " (--stops, of a film --stop-times)": to_say(
        "where the stops lie in the recording is not known, and with them the arm's angle: type"
        " them"
    ),
    "which spring was in which hole is not known: state dancer.spring and dancer.hole in the case,"
    " or --spring and --hole": to_say(
        "which spring was in which hole is not known: choose both in the case's dancer"
    ),
    "{load}: the dancer's recordings say {measured} of film force, the case {stated}. No fit takes"
    " them: mend program.force_to_load where the case is off, or let woold learn weigh"
    " them.": to_say(
        "{load}: the dancer's recordings say {measured} of film force, the case {stated}. No fit"
        " takes them: mend the case's force to the load where it is off, or learn from trials,"
        " which weighs them."
    ),
    "Choose one of [[dancer.springs]], counted from 1.": to_say(
        "Choose one of the dancer's springs, counted from 1."
    ),
    "Name the column of the position with --position-column.": to_say(
        "Give the column of the position a heading such as 'dancer [deg]', or leave the others out."
    ),
    "Write it in the heading, 'time [s]', or give --time-unit.": _UNIT_IN_HEADING,
    "Write it in the heading, 'dancer [deg]', or give --position-unit.": _UNIT_IN_HEADING,
    "The model was not laid over it: that needs a [dancer] table and an angle.": to_say(
        "The model was not laid over it: that needs a case with a dancer, and an angle."
    ),
    "common practice, no source; change any with --limit NAME=VALUE": to_say(
        "common practice, no source"
    ),
    "a fit with --case CASE.toml": to_say("a fit, with the tick at “It is this case's dancer”"),
    "Write --limit with one of these names.": to_say("Take one of these names."),
    "The best gain stands at the end of those tried: widen them with --gains. A high gain also"
    " carries the sensor's noise into the film.": to_say(
        "The best gain stands at the end of those tried; the terminal tries others. A high gain"
        " also carries the sensor's noise into the film."
    ),
    "an hour and {most:,.0f} frames at most; --from and --to take a part of it": to_say(
        "an hour and {most:,.0f} frames at most; cut it, or film a shorter part"
    ),
    "The load's tag was not seen for four turns: the turn is taken from the swing, or from"
    " --speed.": to_say(
        "The load's tag was not seen for four turns: the turn is taken from the swing, or from the"
        " turning speed that was typed."
    ),
    "Print them with woold dancer tags, go nearer, add light, and film in 1080p; or pick two points"
    " with --pivot-at and --arm-at.": to_say(
        "Print them anew, go nearer, add light, and film in 1080p; or tick “No tags” and pick two"
        " points in the picture."
    ),
    "Mend [dancer].": to_say("Mend the dancer."),
    "Look for a value of [dancer] in a wrong unit.": to_say(
        "Look for a value of the dancer in a wrong unit."
    ),
    "Write a [[dancer.springs]] table for each spring.": to_say("Add each spring to the dancer."),
    "See `woold dancer springs` for what each of them balances.": to_say(
        "See “Springs and holes” for what each of them balances."
    ),
    "the trace does not tell its turn: if that takes {period:.3g} s, some of what was counted to"
    " the corners is faster than they are: give --speed, a turn pulse or the turntable's"
    " angle": to_say(
        "the trace does not tell its turn: if that takes {period:.3g} s, some of what was counted"
        " to the corners is faster than they are: give the turning speed, a turn pulse or the"
        " turntable's angle"
    ),
    "the arm lies still at one end of its swing again and again: give the stops (--stops or"
    " --case) and it will be told what that is": to_say(
        "the arm lies still at one end of its swing again and again: tick “It is this case's"
        " dancer” and it will be told what that is"
    ),
    "the trace repeats every {repeat:.3g} s but for a wave that is slower: a strong ringing may"
    " have been taken for the turn: give --speed, a turn pulse or the turntable's angle": to_say(
        "the trace repeats every {repeat:.3g} s but for a wave that is slower: a strong ringing may"
        " have been taken for the turn: give the turning speed, a turn pulse or the turntable's"
        " angle"
    ),
    "{share:.1%} of all energy comes at orders of the turn at which a load's corners hardly move a"
    " dancer, as a ringing little faster than they are does: record at another turning speed, where"
    " a ringing keeps its frequency, or lay the model over it (--case)": to_say(
        "{share:.1%} of all energy comes at orders of the turn at which a load's corners hardly"
        " move a dancer, as a ringing little faster than they are does: record at another turning"
        " speed, where a ringing keeps its frequency, or lay the model over it: tick “It is this"
        " case's dancer”"
    ),
    # the case, its carriage and its way
    "for other carriages of this film, in [film]: width_loss = {lost}, width_loss_prestretch ="
    " {stretch}": to_say(
        "for other carriages of this film, among its film's fields: width loss {lost}, pre-stretch"
        " of that width {stretch}"
    ),
    "a shelf with at least one: [[films]]": to_say("a shelf with at least one film"),
    "at least one thing, such as a film: [[films]]": to_say("at least one thing, such as a film"),
    "a containment force for a zone of height, or a [transport] table": to_say(
        "a containment force for a zone of height, or what it meets on its way"
    ),
    "a [transport] table": to_say("what the load meets on its way"),
    "Nobody measured this film's width on a load: it follows from a law of neck-down that may be"
    " far off, mostly to the narrow side, and turns and film with it. The numbers here are best"
    " guesses; the report and --ranges say how far they may be off. Measure one width"
    " (carriage.film_width_on_load); it settles what the law leaves open.": to_say(
        "Nobody measured this film's width on a load: it follows from a law of neck-down that may"
        " be far off, mostly to the narrow side, and turns and film with it. The numbers here are"
        " best guesses; the report says how far they may be off. Measure one width"
        " (carriage.film_width_on_load); it settles what the law leaves open."
    ),
    'Write --slips "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm, 5 mm".': to_say(
        'Write it as "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm, 5 mm".'
    ),
    # kinds of things on the shelf
    "A film on the shelf: its name, and the fields of a case's [film].": to_say(
        "A film: its name, and what a case says of its film."
    ),
    "A film carriage: a case's [carriage], and its [dancer] if it has one.": to_say(
        "A film carriage, and its dancer if it has one."
    ),
    "A model of machine: a case's [machine].": to_say("A model of machine."),
    "Loads of one kind: a case's [load], [hold] and [transport], and how many there are.": to_say(
        "Loads of one kind, what they must hold and meet on their way, and how many there are."
    ),
    "What an operator sets: a case's [program], and what it is made for.": to_say(
        "What an operator sets: the wrap program, and what it is made for."
    ),
    # trials
    "If it is right, add --as-typed '{field}'.": to_say("If it is right, press “It is right”."),
    "To correct the record, import with --reason.": to_say(
        "To correct the record, say why the file is right."
    ),
    "Give --trial KEY.": to_say("Take it in on the page of its trial."),
    "Name case files in the trial, wrap and measure: woold trial import.": to_say(
        "Name cases in the trial, wrap and measure, and take the filled worksheet in."
    ),
    "See: woold trial export, for the keys.": to_say(
        "“All records” on the trial's page has the keys."
    ),
    "Weigh loads of more rolls; `woold trial plan` says how many.": to_say(
        "Weigh loads of more rolls; “Plan a trial” says how many."
    ),
    "Wrap more loads; `woold trial plan` says how many.": to_say(
        "Wrap more loads; “Plan a trial” says how many."
    ),
    "Start from the worksheet of the trial: woold trial sheet, or its page.": to_say(
        "Start from the worksheet of the trial: its page has it."
    ),
    "Start one with: woold trial plan FILE.toml --start": to_say("Start one: “Plan a trial”."),
    "Check the key: woold trial list shows them.": to_say(
        "Choose it from “All trials”: the link may be old."
    ),
    'Add limits = ["0.5 m", "1.0 m"] to [zones], or name a case for each load type.': _ZONES,
    "Give --reason to change the trial that is kept.": to_say(
        "Say why it is changed, or give this one another key."
    ),
    "Keep [order], [[load_types]] and the number of loads, or start a new trial.": to_say(
        "Keep the order, the load types and the number of loads, or start a new trial."
    ),
    "The two cases differ in [load]. A trial wraps the same loads both ways: otherwise the loads"
    " are compared, not the wrapping.": to_say(
        "The two cases differ in their load. A trial wraps the same loads both ways: otherwise the"
        " loads are compared, not the wrapping."
    ),
    "The two cases differ in [hold]: each is asked for another hold.": to_say(
        "The two cases differ in what they must hold: each is asked for another hold."
    ),
    # sites and watching
    "One trial says nothing about other sites: woold trial analyse is its report.": to_say(
        "One trial says nothing about other sites: its own page has what it says."
    ),
    "no [[site]] table": to_say("no site"),
    "one [[site]] for each trial": to_say("a site for each trial"),
    "Write [[site]] above the values of each trial.": to_say(
        "Take the table to fill in: a line for each site."
    ),
    "Use: woold watch fleet": to_say("Press “Overview of the fleet”."),
    # the line, its release and a quote
    "Free dimensions are searched for {most} kinds of load at most. Look at some of them: --sample"
    " {most}.": to_say(
        "Free dimensions are searched for {most} kinds of load at most. Look at so many of them."
    ),
    "List its rollers; woold carriage shows how.": to_say(
        "List its rollers in the line's file, as a case on the bench has them."
    ),
    "a carriage with its rollers: [[carriages.carriage.rollers]]": to_say(
        "a carriage whose rollers are listed"
    ),
    "at most {most}, as refuse_above says below [catalogue]": to_say(
        "at most {most}, as refuse_above says in the line's file"
    ),
    "Mend the rows, or state a larger share: refuse_above below [catalogue].": to_say(
        "Mend the rows, or state a larger share in the line's file: refuse_above."
    ),
    "Write it as Parquet and use: woold line map --engine duckdb": to_say(
        "Leave out what need not be asked about; the terminal takes more."
    ),
    "Write the table as Parquet, or leave --engine out.": to_say("Write the table as Parquet."),
    "Add [[carriages.dancer.springs]] to a carriage, one for each spring.": to_say(
        "Give a carriage its springs in the line's file, or on its shelf: each with its rate."
    ),
    "at least one: [[{kind}]]": to_say("at least one, below {kind}"),
    "Add it to the line's file or to its shelf. woold line new shows one.": to_say(
        "Add it to the line's file or to its shelf. “Download a file to start from” shows one."
    ),
    "CSV table of machines, beside this file, instead of [[machine]]": to_say(
        "CSV table of machines, opened together with this file, where they do not stand in it"
    ),
    "a register, and [[machine]] as well": to_say("a register, and machines in the file as well"),
    "a register, or one [[machine]] at least": to_say(
        "a register, or one machine in the file at least"
    ),
    "For machines in the plan: {count}, the film match was not made. Make it before they are"
    " changed: woold carriage match.": to_say(
        "For machines in the plan: {count}, the film match was not made. Make it before they are"
        " changed: “Films of the shelf on this carriage”, below Films."
    ),
    "Kinds of load that do not work by today's recipe, as predicted: {count}. Look at them first:"
    " woold line map.": to_say(
        "Kinds of load that do not work by today's recipe, as predicted: {count}. Look at them"
        " first: “What works where”."
    ),
    "Look at: woold line check": to_say("Choose one of “What it holds”."),
    "Look at: woold line map": to_say("Look at “What works where”."),
    "Machines that are not listed here: {count} (--json).": to_say(
        "Machines that are not listed here: {count}. “Download JSON” has all."
    ),
    "Name another folder with --map, or begin anew with --fresh.": to_say(
        "Open the line anew; if that does not help, tell whoever runs the server."
    ),
    "Name another folder with --map.": to_say("Tell whoever runs the server."),
    "Trials that are not listed here: {count} (--json).": to_say(
        "Trials that are not listed here: {count}. “Download JSON” has all."
    ),
    'Name the table: file = "loads.csv" below [catalogue].': to_say(
        "Name the table in the line's file, as its catalogue, and open both together."
    ),
    "nothing, and no [[loads]]": to_say("nothing, and no loads"),
    "The catalogue of loads: a table of its own, or the [[loads]] of line and shelf.": to_say(
        "The catalogue of loads: a table of its own, or the loads of line and shelf."
    ),
    "Of the sites that were tried may be said today: {claim} After each stage pool its trials as"
    " well and ask again: woold sites pool.": to_say(
        "Of the sites that were tried may be said today: {claim} After each stage pool its trials"
        " as well and ask again: “Many sites, one claim”."
    ),
    "State it in [[machines]], or name one: --carriage NAME.": to_say(
        "State it with the machine in the line's file, or choose a carriage above."
    ),
    'State it in [[machines]]: carriage = "@NAME".': to_say(
        "State it with the machine in the line's file, by the carriage's name."
    ),
    "estimate; woold dancer simulate says it for one machine and load": to_say(
        "estimate; the dancer's page says it for one machine and load"
    ),
    "Name the table with --table.": to_say("Look at a database's table from the terminal."),
    "Enter both treatments' loads first, or promise from a file with --settings.": to_say(
        "Enter both treatments' loads first, or promise from a file of settings."
    ),
    "Name it with --column time=NAME.": _COLUMN,
    "Name it with --column film_mass_g=NAME.": _COLUMN,
    "Take one of them out, or name the right one with --column.": to_say(
        "Take one of them out, or name the right one below “Columns of other names”."
    ),
    "Write the unit behind the name, or name the column with --column.": to_say(
        "Write the unit behind the name, or name the column below “Columns of other names”."
    ),
    "Mend the file, or name the right columns with --column.": to_say(
        "Mend the file, or name the right columns below “Columns of other names”."
    ),
    # the store, and who may do what: for whoever runs the server
    "woold account list shows the names.": to_say("“Who may sign in” shows the names."),
    "Stop the server, run woold store check, and restore the latest backup.": to_say(
        "Tell whoever runs the server: it must be stopped, the store looked at, and the latest copy"
        " put back."
    ),
    "Run woold store check; the copy was thrown away.": to_say(
        "Look whether the store is sound; the copy was thrown away."
    ),
    "Name a file that woold store backup wrote.": to_say("Take a copy that this server made."),
    "a file that `woold learn --kept` wrote": to_say("a file that learning from trials wrote"),
    "Install it: pip install 'woold[learn]'.": to_say(
        "Ask whoever runs the server to install woold's extra “learn”."
    ),
}
"""Page's text by the terminal's; values are put into both by the same names."""
