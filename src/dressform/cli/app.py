"""The commands by name, and what their endings mean to a shell.

Commands are registered by import path, so that `dressform --help` loads no numerics.
"""

import io
import os
import sys
import traceback
from collections.abc import Sequence
from typing import Annotated

from cyclopts import App, CycloptsError, Parameter
from cyclopts.config import Toml

from dressform.cli.crash import crash_line, set_log
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_CRASHED, EXIT_INTERRUPTED, EXIT_UNREAD, INTERRUPTED
from dressform.cli.help_text import HelpLayout
from dressform.cli.option_words import error_words
from dressform.cli.outputs import take_stdout
from dressform.cli.project_file import PROJECT_FILE, refuse_odd_project
from dressform.cli.standard_input import forget_standard_input
from dressform.cli.telling import Telling, set_telling, telling
from dressform.errors import DressformError
from dressform.formats.guards.inputs import kept_inputs
from dressform.interrupts import heard_interrupts
from dressform.leftovers import sweep_own
from dressform.version import __version__

SUMMARY = (
    "Makes mesh clothing follow bodies that their wearers reshape: measures each fault over the whole range of shapes, "
    "and ships the fit as plain morph targets."
)
ENDINGS = (
    "Exit codes: 0 clean or done, 1 something is wrong (each command's help says what), 2 bad input, "
    "70 a fault of the program itself, 130 interrupted; nothing is ever left half-written."
)
COMMANDS = {
    "demo": "Make the village of Saltmarsh and run the whole job on it.",
    "check": "Measure every fault of garments over the range of a body, the worst shapes first.",
    "compare": "Compare two results, or methods and settings, over the same garments, shapes and stances.",
    "explain": "Say why one fault of a check is there: what was seen, what was tried, what to change.",
    "fit": "Write a garment that follows a body by morph targets, repaired and proven over the range.",
    "outfit": "Write garments that are worn together, repaired from the skin outward.",
    "prove": "Prove that a fitted garment keeps clear of its body at every shape of the range.",
    "audit": "Say what is wrong with the morphs of a body, the worst first, and what to do about each.",
    "infer-shape": "Infer which body shape garments were modelled on.",
    "suggest-following": "Say how garments should follow: on or off, how strongly, stiff; with the reason per line.",
    "measure": "Take the tape measures of a body at any weights, by ISO 8559-1; find the weights that a tape asks for.",
    "stances": "List the stances in which garments of a body are looked at, and the joints that were recognised.",
    "case": "Save or import complaints, look through them, and replay one to see whether it is cured.",
    "triage": "Measure a folder of complaints again: merged, ranked, each with a drafted answer.",
    "store": "List, prune and export what is kept of finished work, so that a second run does only what changed.",
    "warm": "Compile the numerics once, on two cores, so that no later command has to.",
    "show": "Open a local page: move the sliders, see the clothes follow and the faults light up.",
}
SUBCOMMANDS = {
    "store": {
        "list": "Say what the store holds: how much, of which bodies, how old, and what is of no use any more.",
        "prune": "Take out what meets every option given, and give its room back.",
        "export": "Write a row for each fault of each garment that was checked, for a spreadsheet or a data frame.",
    },
    "case": {
        "import": "Make a case of every row of a list of complaints (CSV or JSON lines).",
        "save": "Save a complaint about a garment at a shape, with what is measured there and a picture.",
        "replay": "Measure the garment of a case again at its shape, and say whether it is still wrong at its place.",
        "list": "Group the cases of a folder by garment, place and cause, those most complained about first.",
    },
}
"""Commands that are a family: what each member does."""
ASKS_NOTHING = {"--help", "-h", "--version", "-V"}
"""Words that only ask what the program is: a project file that is broken must not stop them."""
HYPHEN = "./-"
"""How `-`, standard input or output, is given on, so that it is not taken for an option."""
EXAMPLES = {
    "demo": ("dressform demo", "dressform demo saltmarsh --workers 4"),
    "check": (
        "dressform check --body keeper.glb oilskin.glb guernsey.glb",
        "dressform check --body keeper.glb --base woman oilskin.glb --json oilskin.json",
        "dressform check --body keeper.glb oilskin.glb --method all --out four-methods",
        'dressform check --body keeper.glb "wardrobe/*.glb" --json wardrobe.json',
        "dressform check --body keeper.glb wardrobe --fail-on grave --junit verdict.xml",
    ),
    "compare": (
        "dressform compare before.json after.json",
        "dressform compare nearest smooth --body keeper.glb --garments oilskin.glb guernsey.glb --report both.html",
        "dressform compare smooth repaired village.py:follow --body keeper.glb --garments wardrobe --out compared",
    ),
    "explain": (
        "dressform explain results.json guernsey/1",
        "dressform explain results.json guernsey/A",
        'dressform explain results.json "guernsey smooth/1" --picture guernsey-1.png',
    ),
    "fit": (
        "dressform fit --body keeper.glb oilskin.glb -o oilskin-fitted.glb",
        "dressform fit --body keeper.glb waistcoat.glb -o out.glb --off buttons --margin 3",
        "dressform fit --body keeper.glb oilskin.glb -o as-lifted.glb --no-repair",
        "dressform fit --body keeper.glb wardrobe -o fitted",
    ),
    "outfit": ("dressform outfit outfits.toml ashore --body keeper.glb --out ashore",),
    "prove": (
        "dressform prove oilskin-fitted.glb --body keeper.glb",
        "dressform prove oilskin-fitted.glb --body keeper.glb --margin 1 --json oilskin-proof.json",
    ),
    "audit": (
        "dressform audit keeper.glb",
        "dressform audit keeper.glb --base woman --json morphs.json --out morphs",
    ),
    "infer-shape": (
        "dressform infer-shape guernsey.glb oilskin.glb --body keeper.glb",
        "dressform infer-shape guernsey.glb --body keeper.glb --base woman --json guernsey-shape.json",
    ),
    "suggest-following": (
        "dressform suggest-following souwester.glb belt.glb --body keeper.glb",
        "dressform suggest-following belt.glb --body keeper.glb --write following.toml --json following.json",
    ),
    "measure": (
        "dressform measure keeper.glb",
        "dressform measure keeper.glb --weights belly=0.5,hips=1",
        "dressform measure keeper.glb --find bust=96,waist=78,hip=104",
    ),
    "stances": (
        "dressform stances keeper.glb",
        "dressform stances keeper.glb --stances everyday,strong --picture stances.png",
        "dressform stances keeper.glb --stances keeper.stances.toml",
    ),
    "case": (
        'dressform case save oilskin.glb --body keeper.glb --weights belly=1 --note "Gapes." -o gapes.case.json',
        "dressform case replay gapes.case.json --picture gapes.png",
        "dressform case list complaints",
        "dressform case import complaints.csv --body keeper.glb --garments wardrobe -o complaints",
    ),
    "triage": (
        "dressform triage complaints --body keeper.glb --garments wardrobe --out triage",
        "dressform triage complaints --body keeper.glb --garments mended --out triage-2 --against triage/triage.json",
    ),
    "store": (
        "dressform store list",
        "dressform store prune --outdated",
        "dressform store export wardrobe.csv",
    ),
    "warm": ("dressform warm",),
    "show": (
        "dressform show --body keeper.glb oilskin.glb guernsey.glb",
        "dressform show --body keeper.glb oilskin.glb --repaired --out exported --cases complaints",
        "dressform show --body keeper.glb oilskin-1.glb oilskin-2.glb --no-browser --port 8400",
    ),
}


OUTCOMES = {
    "demo": "0 made, whatever faults it shows",
    "check": "0 clean (at most slight faults), 1 a fault that is moderate or grave, 2 also where a garment is broken; "
    "with --fail-on or --rules 1 where one is not accepted by these",
    "compare": "0 nothing got graver by more than the tolerance, 1 something did, or a garment is gone",
    "explain": "0 explained",
    "fit": "0 written, 1 written, but skin or cloth in the body is still seen, moderate or worse, 2 also where of "
    "several one could not be fitted",
    "outfit": "0 every near pair certified and nothing seen that should be covered, 1 otherwise",
    "prove": "0 PROVEN over the whole range, 1 NOT PROVEN",
    "audit": "0 clean (at most slight findings), 1 a finding that is moderate or grave",
    "infer-shape": "0 modelled on the base body (or cut loose), 1 a garment modelled on another shape or base body",
    "suggest-following": "0 all should follow as they do, 1 a garment should follow differently",
    "measure": "0 measured, whatever a tape misses",
    "stances": "0 listed, also where there are none",
    "case": "0 done; of replay 1 still wrong, of import 1 a row could not be read",
    "case save": "0 saved",
    "case replay": "0 cured, 1 still wrong",
    "case list": "0 listed",
    "case import": "0 imported, 1 also where a row could not be read",
    "triage": "0 nothing that is complained about is found, 1 something is",
    "store": "0 done",
    "store list": "0 listed",
    "store prune": "0 taken out, or nothing met",
    "store export": "0 written",
    "warm": "0 compiled, now or before",
    "show": "0 ended, by Ctrl-C too",
}
"""What the exit codes of each command mean, as far as it differs from the others."""
COMMON_ENDINGS = (
    f"{EXIT_BAD_INPUT} bad input, {EXIT_CRASHED} a fault of the program itself, {EXIT_INTERRUPTED} interrupted; "
    "nothing is ever left half-written."
)


def _epilogue(name: str) -> str:
    lines = [f"  {example}" for example in EXAMPLES.get(name, ())]
    examples = ["Examples:", *lines, ""] if lines else []
    return "\n".join([*examples, f"Exit codes: {OUTCOMES[name]}; {COMMON_ENDINGS}"])


app = App(
    name="dressform",
    help=SUMMARY,
    help_epilogue=ENDINGS,
    version=__version__,
    version_flags=("--version", "-V"),
    help_format="plaintext",
    help_formatter=HelpLayout(),
    suppress_keyboard_interrupt=False,
    config=Toml(PROJECT_FILE),
)
for _name, _help in COMMANDS.items():
    if _name in SUBCOMMANDS:
        _family = App(name=_name, help=_help, help_epilogue=_epilogue(_name), version_flags=())
        app.command(_family)
        for _member, _words in SUBCOMMANDS[_name].items():
            _path = f"dressform.cli.commands.{_name}_command:{_name}_{_member}"
            _family.command(_path, name=_member, help=_words, help_epilogue=_epilogue(f"{_name} {_member}"))
    else:
        _module = _name.replace("-", "_")
        _path = f"dressform.cli.commands.{_module}_command:{_module}"
        app.command(_path, name=_name, help=_help, help_epilogue=_epilogue(_name))
app.register_install_completion_command(name="--install-completion")
app.meta.suppress_keyboard_interrupt = False
app.meta.usage = "Usage: dressform COMMAND [OPTIONS]\n"


@app.meta.default
def command_line(
    *tokens: Annotated[str, Parameter(show=False, allow_leading_hyphen=True)], how: Telling | None = None
) -> object:
    """Keep what stands with every command, and run the command."""
    set_telling(how)
    return app(
        [HYPHEN if token == "-" else token for token in tokens],
        exit_on_error=False,
        print_error=False,
        result_action="return_value",
    )


def run(tokens: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code; errors become one line on stderr."""
    _print_any_name()
    set_log(None)
    set_telling(None)
    take_stdout(taken=False)
    forget_standard_input()
    try:
        with heard_interrupts(or_else=_end_at_once), kept_inputs():
            if not ASKS_NOTHING & set(sys.argv[1:] if tokens is None else tokens):
                refuse_odd_project(COMMANDS)
            code = app.meta(tokens, exit_on_error=False, print_error=False, result_action="return_value")
    except (CycloptsError, DressformError) as error:
        print(f"dressform: {error_words(error, sys.argv[1:] if tokens is None else tokens)}", file=sys.stderr)
        return EXIT_BAD_INPUT
    except KeyboardInterrupt:
        sweep_own()  # what a second interrupt, or one between two steps, kept from being cleared away
        print(INTERRUPTED, file=sys.stderr)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_UNREAD
    except Exception as error:  # nobody foresaw it: never a traceback, never the exit code of a verdict
        if telling().verbose:
            traceback.print_exc()
        print(f"dressform: {crash_line(error, sys.argv[1:] if tokens is None else tokens)}", file=sys.stderr)
        return EXIT_CRASHED
    return code if isinstance(code, int) else EXIT_CLEAN


def _end_at_once() -> None:
    """End where an interrupt cannot be raised: compiled code, or a compiler, does not come back."""
    os.write(sys.stderr.fileno(), f"{INTERRUPTED}\n".encode())
    if (processes := sys.modules.get("multiprocessing")) is not None:
        for child in processes.active_children():
            child.terminate()
    sweep_own()
    os._exit(EXIT_INTERRUPTED)


def _print_any_name() -> None:
    """Write a name that the terminal's encoding lacks with escapes, rather than fail after the work is done."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
