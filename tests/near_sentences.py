"""Sentences that are nearly one of the gates', written by hand: none of them, however clear, is the sentence.

NEARLY: negations of every gate, other objects, other people, other times, parts. ALIKE: a word in place of another of
nearly the same sound, which leaves the meaning or has none; the ear mends such words, so they are counted apart.
"""

from __future__ import annotations

NEARLY = (
    "the conveyor is locked and it will start", "the conveyor is not locked and it will not start",
    "the conveyor is blocked and it will not stop", "the conveyor was locked and it did not start",
    "the conveyor is unlocked and it will not start", "the air is fresh and i have no gloves and my safety glasses on",
    "the air is not fresh and i have my gloves and my safety glasses on", "the air is fresh and i have my gloves and my safety glasses off",
    "the air is fresh and i have my gloves and no safety glasses on", "the air is foul and i have my gloves and my safety glasses on",
    "i have my gloves and my safety glasses on", "both hands are not safely behind the blade",
    "one hand is safely behind the blade", "both hands are safely before the blade",
    "both hands are safely on the blade", "both hands were safely behind the blade",
    "both his hands are safely behind the blade", "we will not lift this part together",
    "i will lift this part alone", "we will lift this part later",
    "we will lift these parts together", "we lift this part together",
    "the press is locked together and my hands are in the way", "the press is not locked together and my hands are out of the way",
    "the press is locked together and my hands are not out of the way", "the press is unlocked and my hands are out of the way",
    "the press is locked together and his hands are out of the way", "the press is locked together",
    "the press is almost locked together and my hands are out of the way", "my hands are out of the way",
    "the press shows the wrong numbers", "the press shows some other numbers",
    "the press does not show the same numbers", "the press shows nearly the same numbers",
    "the press showed the same numbers", "the press shows the same number",
    "the inside has not cooled down and i am going to release the pressure", "the outside has cooled down and i am going to release the pressure",
    "the inside has cooled down and i am not going to release the pressure", "the inside has heated up and i am going to release the pressure",
    "the inside has almost cooled down and i am going to release the pressure", "the inside has cooled down and he is going to release the pressure",
    "the plug is in my hand and the pressure is not zero", "the plug is in the wall and the pressure is zero",
    "the plug is not in my hand and the pressure is zero", "the plug is in my hand and the pressure is nearly zero",
    "the plug is in my hand and the pressure is two", "the plug is in his hand and the pressure is zero",
    "i know the plates are hot and i am not wearing gloves", "i know the plates are cold and i am wearing gloves",
    "i have not removed my own lock from the conveyor", "i have removed your own lock from the conveyor",
    "i have put my own lock on the conveyor", "i have taken my own lock to the conveyor",
    "i will remove my own lock from the conveyor", "there is tension in the belt and no air pressure",
    "there is no tension in the belt and some air pressure", "there is no tension in the belt but air pressure",
    "there is some tension in the belt and no air pressure", "all the cables are wet and in good condition",
    "all the cables are dry and in bad condition", "not all the cables are dry and in good condition",
    "all the cables are dry and not in good condition", "all the cables are nearly dry and in good condition",
    "every guard is not back and everybody is clear", "every guard is back and nobody is clear",
    "every guard is back and everybody is near", "not every guard is back and everybody is clear",
    "every guard is back and somebody is clear",
)  # fmt: skip

ALIKE = (
    "the conveyor is locked and it would not start", "the press is knocked together and my hands are out of the way",
    "i know the plates are not and i am wearing gloves", "i know the plates are hot and i am sharing gloves",
    "i have removed my own clock from the conveyor", "we will leave this part together",
    "the press is locked together and my hands are on their way", "there is no tension in the belt and low air pressure",
    "there is no tension in the bed and no air pressure", "all the tables are dry and in good condition",
    "every guard is black and everybody is clear",
)  # fmt: skip
