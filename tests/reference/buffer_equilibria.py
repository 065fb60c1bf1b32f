"""Makes buffer_equilibria.csv: the pH of mixtures by a general-purpose equilibrium library, to check predicted pH against.

Run once with the Python package phreeqc 1.1.1 (`pip install phreeqc==1.1.1`); the tests read its recorded output and do not need it.
Two columns: `same_constants` is the library's own solver on the constants that tarebook uses, with Davies' equation for ions and activity 1 for what
has no charge; `own_constants` is the library with the database minteq.v4.dat, which has constants, ion pairs and activities of its own.
"""

import csv
import sys

from phreeqc import Phreeqc

# Charge of the form with all protons, and pKa by step, 25 °C, as in the catalogue.
ACIDS = {
    "Cit": (0, [3.127, 4.759, 6.397]),
    "Pho": (0, [2.148, 7.198, 12.375]),
    "Pht": (0, [2.95, 5.408]),
    "Bor": (0, [9.236]),
    "Crb": (0, [6.352, 10.329]),
    "Ace": (0, [4.757]),
    "Lac": (0, [3.86]),
    "Bnz": (0, [4.21]),
    "Arg": (2, [1.823, 8.991, 12.48]),
    "Tea": (1, [7.76]),
    "Gly": (1, [2.35, 9.778]),
}
PKW = 13.997

# What a solute brings: acid, how many of it, sodium, potassium, chloride.
SOLUTES = {
    "citric-acid-monohydrate": ("Cit", 1, 0, 0, 0),
    "sodium-citrate-dihydrate": ("Cit", 1, 3, 0, 0),
    "potassium-dihydrogen-citrate": ("Cit", 1, 0, 1, 0),
    "disodium-hydrogen-phosphate": ("Pho", 1, 2, 0, 0),
    "sodium-dihydrogen-phosphate": ("Pho", 1, 1, 0, 0),
    "potassium-dihydrogen-phosphate": ("Pho", 1, 0, 1, 0),
    "phosphoric-acid": ("Pho", 1, 0, 0, 0),
    "potassium-hydrogen-phthalate": ("Pht", 1, 0, 1, 0),
    "borax": ("Bor", 4, 2, 0, 0),
    "sodium-bicarbonate": ("Crb", 1, 1, 0, 0),
    "sodium-carbonate": ("Crb", 1, 2, 0, 0),
    "acetic-acid": ("Ace", 1, 0, 0, 0),
    "sodium-acetate": ("Ace", 1, 1, 0, 0),
    "lactic-acid": ("Lac", 1, 0, 0, 0),
    "sodium-benzoate": ("Bnz", 1, 1, 0, 0),
    "arginine": ("Arg", 1, 0, 0, 0),
    "triethanolamine": ("Tea", 1, 0, 0, 0),
    "glycine": ("Gly", 1, 0, 0, 0),
    "sodium-hydroxide": (None, 0, 1, 0, 0),
    "potassium-hydroxide": (None, 0, 0, 1, 0),
    "hydrochloric-acid": (None, 0, 0, 0, 1),
    "sodium-chloride": (None, 0, 1, 0, 1),
}

# Totals of the database by the acids here; the others it does not have.
IN_DATABASE = {"Cit": "Citrate", "Pho": "P", "Pht": "Phthalate", "Bor": "B", "Crb": "C(4)", "Ace": "Acetate", "Gly": "Glycine"}

# mmol in a kilogram of water.
MIXTURES = [
    {"potassium-hydrogen-phthalate": 50},
    {"potassium-dihydrogen-phosphate": 25, "disodium-hydrogen-phosphate": 25},
    {"borax": 10},
    {"sodium-bicarbonate": 25, "sodium-carbonate": 25},
    {"potassium-dihydrogen-citrate": 50},
    {"citric-acid-monohydrate": 61.45, "disodium-hydrogen-phosphate": 77.1},
    {"citric-acid-monohydrate": 48.5, "disodium-hydrogen-phosphate": 103},
    {"citric-acid-monohydrate": 36.85, "disodium-hydrogen-phosphate": 126.3},
    {"citric-acid-monohydrate": 17.65, "disodium-hydrogen-phosphate": 164.7},
    {"citric-acid-monohydrate": 20},
    {"citric-acid-monohydrate": 20, "sodium-hydroxide": 36},
    {"citric-acid-monohydrate": 5, "sodium-citrate-dihydrate": 15},
    {"acetic-acid": 100, "sodium-acetate": 100},
    {"acetic-acid": 50, "sodium-acetate": 5, "sodium-chloride": 200},
    {"phosphoric-acid": 30, "sodium-hydroxide": 75},
    {"hydrochloric-acid": 10},
    {"sodium-hydroxide": 10},
    {"sodium-hydroxide": 100, "sodium-chloride": 300},
    {"lactic-acid": 100, "sodium-hydroxide": 50},
    {"lactic-acid": 100, "arginine": 60},
    {"lactic-acid": 30, "triethanolamine": 40},
    {"citric-acid-monohydrate": 20, "triethanolamine": 50, "sodium-benzoate": 30},
    {"sodium-benzoate": 35, "hydrochloric-acid": 10},
    {"glycine": 100, "potassium-hydroxide": 40},
    {"sodium-dihydrogen-phosphate": 1, "sodium-bicarbonate": 1},
]


def same_constants():
    """A database that holds nothing but the constants above."""
    master = ["E e- 0 0 0", "H H+ 0 H 1.008", "H(0) H2 0 H", "H(1) H+ 0 H", "O H2O 0 O 15.999", "O(0) O2 0 O", "O(-2) H2O 0 O",
              "Na Na+ 0 Na 22.99", "K K+ 0 K 39.098", "Cl Cl- 0 Cl 35.45"]
    species = ["H+ = H+\n log_k 0", "e- = e-\n log_k 0", "H2O = H2O\n log_k 0", "Na+ = Na+\n log_k 0", "K+ = K+\n log_k 0",
               "Cl- = Cl-\n log_k 0", f"H2O = OH- + H+\n log_k {-PKW}",
               "2 H+ + 2 e- = H2\n log_k -3.15", "2 H2O = O2 + 4 H+ + 4 e-\n log_k -86"]
    for name, (charge, pka) in ACIDS.items():
        lowest = charge - len(pka)
        sign = f"{lowest:+d}" if lowest else ""
        base = f"{name}{sign}"
        element = name
        master.append(f"{element} {base} 0 1 100")
        flat = " -gamma 1.0 0.0\n" if lowest == 0 else ""
        species.append(f"{base} = {base}\n log_k 0\n{flat}")
        total = 0.0
        for protons, step in enumerate(reversed(pka), start=1):
            total += step
            now = lowest + protons
            sign = f"{now:+d}" if now else ""
            flat = " -gamma 1.0 0.0\n" if now == 0 else ""
            species.append(f"{base} + {protons} H+ = H{protons}{name}{sign}\n log_k {total}\n{flat}")
    return "SOLUTION_MASTER_SPECIES\n" + "\n".join(master) + "\nSOLUTION_SPECIES\n" + "\n".join(species) + "\nEND\n"


def totals(mixture, names):
    """Totals in mmol/kg by element, or None where an acid has no name."""
    found = {}
    for solute, amount in mixture.items():
        acid, units, sodium, potassium, chloride = SOLUTES[solute]
        parts = {"Na": sodium, "K": potassium, "Cl": chloride}
        if acid:
            if acid not in names:
                return None
            parts[names[acid]] = units
        for element, number in parts.items():
            if number:
                found[element] = found.get(element, 0) + number * amount
    return found


def ph(library, mixture, names):
    found = totals(mixture, names)
    if found is None:
        return None, None
    lines = "\n".join(f" {element} {amount}" for element, amount in found.items())
    text = (f"SOLUTION 1\n units mmol/kgw\n temp 25\n pH 7 charge\n{lines}\n"
            "SELECTED_OUTPUT 1\n -reset false\nUSER_PUNCH 1\n -headings pH mu\n 10 PUNCH -LA(\"H+\"), MU\nEND\n")
    if library.RunString(text):
        sys.exit(library.GetErrorString())
    values = [library.GetSelectedOutputValue(1, column) for column in range(2)]
    return tuple(float(value[-1] if isinstance(value, (tuple, list)) else value) for value in values)


def main():
    same, own = Phreeqc(), Phreeqc()
    if same.LoadDatabaseString(same_constants()):
        sys.exit(same.GetErrorString())
    own.LoadBuiltInDatabase("minteq.v4.dat")
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["mixture", "same_constants_ph", "same_constants_ionic_strength", "own_constants_ph"])
    for mixture in MIXTURES:
        one = ph(same, mixture, {name: name for name in ACIDS})
        other, _ = ph(own, mixture, IN_DATABASE)
        text = " + ".join(f"{amount} {solute}" for solute, amount in mixture.items())
        out.writerow([text, f"{one[0]:.4f}", f"{one[1]:.5f}", "" if other is None else f"{other:.3f}"])


main()
