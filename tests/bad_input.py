"""What people and programs send that no form should take, for the tests of every app."""

TOO_LONG = "a" * 10_000
SCRIPT = "<script>alert(1)</script>"
NUL = "be\0fore"
EMOJI = "🧼🫧"

NO_NUMBERS = [
    "",
    "NaN",
    "sNaN",
    "Infinity",
    "-Infinity",
    "1e400",
    "1e-400",
    "9" * 400,
    "twelve",
    "0x10",
    "1_000",
    "12 parsecs",
    "--1",
    EMOJI,
    SCRIPT,
    NUL,
    TOO_LONG,
]
NO_POSITIVE_NUMBERS = [*NO_NUMBERS, "-1", "-0.5", "\N{MINUS SIGN}3", "1e9", "999999999999999999"]
STRANGE_TEXTS = [EMOJI, SCRIPT, "=1+1", "{{ 7|add:7 }}", "%s%n", "../../etc/passwd", "' OR 1=1 --"]
REFUSED_TEXTS = [NUL, TOO_LONG]
EVERYTHING = list(dict.fromkeys([*NO_POSITIVE_NUMBERS, *STRANGE_TEXTS, *REFUSED_TEXTS, "0", "-5", "1e2"]))
