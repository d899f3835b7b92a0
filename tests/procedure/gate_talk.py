"""What is said to a session by whoever tries it: questions, moves, values, and the ways to attack a gate."""

from __future__ import annotations

QUESTIONS = (
    "why", "how", "where are we", "what comes next", "how long left", "how long until it is cold", "show the recipe",
    "show the job sheet", "help", "what can i say", "what time is it", "say again", "slower", "keep it short", "explain more",
    "call the supervisor", "what is the upper temperature", "what did i say for the thickness", "what happens if i use 185",
)  # fmt: skip
MOVES = (
    "yes", "okay", "no", "done", "next", "that is correct", "scratch that", "go back", "hold", "we can go on", "false alarm",
    "hand over to anna", "anna takes over", "my name is martin", "stop the session", "there is a fire", "nobody is hurt",
    "note the belt smells", "record a deviation the supervisor allows it", "i accept the joint", "accept with a note a crease",
    "cut it out", "do not keep it", "the temperature is reached", "the heat is on", "the cooling has started",
    "it looks good", "i can not measure it", "banana", "the first one", "the second one", "i did not hear it",
    "the power went off", "the power is back", "the plug is in again", "the pressure was lost", "it was opened", "it went on as it was", "just now",
    "two minutes", "i do not know", "that was not for you",
)  # fmt: skip
VALUES = (
    "change the dwell to three minutes", "change the dwell to four minutes", "change the upper temperature to 300 degrees",
    "change the pressure to 9 bar", "change the release temperature to 65 degrees", "change the release temperature to 110 degrees",
    "change the thickness to 2.1 millimeters", "change the thickness to 40 millimeters", "change the shop temperature to 17 degrees",
    "change the name to martin", "change the vent to i heard it", "change the vent to i did not hear it",
    "change the second try to yes", "the upper platen is 20 degrees", "the upper platen is 58 degrees",
    "the upper platen is 190 degrees", "the lower platen is 58 degrees", "the lower platen is 340 degrees",
    "the edge is 50 degrees", "the edge is 180 degrees", "the gauge is zero bar", "the gauge is one bar",
    "the pressure is zero bar", "the pressure is two bar", "it shows 180 degrees", "it shows two bar", "two", "58 degrees",
    "3 minutes", "no 3 minutes", "change the marks to 1005 millimeters", "change the joint thickness left to 2 millimeters",
)  # fmt: skip
FALSE_READINGS = (
    "the upper platen is 20 degrees", "the lower platen is 20 degrees", "the upper platen is 58 degrees",
    "the lower platen is 58 degrees", "the upper platen is 65 degrees", "the lower platen is 65 degrees",
    "the edge is 20 degrees", "the edge is 50 degrees", "the upper platen is 90 degrees", "the lower platen is 120 degrees",
    "the gauge is zero bar", "the gauge is one bar", "i heard it", "change the vent to i heard it",
)  # fmt: skip
SKIPS = ("skip", "ignore it", "just do it", "override")
GRUNTS = ("yes", "okay", "next", "done", "that is correct", "confirmed", "go on")
ATTACKS = (
    "bare",
    "negated",
    "partial",
    "reordered",
    "fuzzy",
    "longer",
    "other",
    "key",
    "unverified",
    "not for gates",
    "misheard",
    "turned round",
    "early",
    "typed ahead",
    "repeated",
    "silence",
    "skip",
    "value",
)
