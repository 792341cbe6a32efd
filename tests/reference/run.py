"""Runs the independent reference of one calculator.

    run.py ID [MODELS] < inputs.json > answers.json

Standard input is one array of inputs, standard output one array of what the reference says of each. A reference is the file
ID.py beside this one, hyphens as underscores. It defines

    answers(inputs)    answer id -> value in SI units, None where there is none; or {"refused": field id}, or a list of them
                       where more than one field may be blamed

and, where they say something,

    limits(inputs)     what a verdict is about -> {"answer": id, "limit": value, "side": "most" or "least"}
    standings(inputs)  what a verdict is about -> its word, where no margin decides it
    floors(inputs)     answer id -> a difference that means nothing, in SI units; the reason stands beside it

`inputs` has every field that the calculator asks for, by its id: numbers as floats in SI units (per cent as a share, levels
in decibels, angles in degrees), counts as ints, choices by their ids, words and points as text. "_models" has the constants
of the fitted valve models, by the valve's type number.

A reference is written from the description of a calculator and from textbooks, never from its code. Debian's python3 and
python3-scipy are all that it may use.
"""

import importlib
import json
import pathlib
import sys


def main():
    sys.dont_write_bytecode = True
    sys.path.insert(0, str(pathlib.Path(__file__).parent))
    reference = importlib.import_module(sys.argv[1].replace("-", "_"))
    models = json.loads(pathlib.Path(sys.argv[2]).read_text()) if len(sys.argv) > 2 else {}
    said = []
    for inputs in json.load(sys.stdin):
        inputs["_models"] = models
        try:
            answers = reference.answers(inputs)
            more = ["limits", "standings", "floors"] if "refused" not in answers else []
            part = {name: getattr(reference, name)(inputs) for name in more if hasattr(reference, name)}
        except Exception:
            del inputs["_models"]
            print(f"{sys.argv[1]} with {inputs}:", file=sys.stderr)
            raise
        said.append({"answers": answers, **part})
    json.dump(said, sys.stdout, allow_nan=False)


if __name__ == "__main__":
    main()
