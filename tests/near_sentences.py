"""Sentences that are nearly one of the gates': none of them, however clear, may close one.

Negations of every gate, other objects, parts, hopes and questions. Written by hand, for the packaged wording.
"""

from __future__ import annotations

NEARLY = (
    "the conveyor is locked and it will start", "the conveyor is not locked and it will not start",
    "the conveyor is blocked and it will not stop", "the conveyor is locked and it would not start",
    "the conveyor was locked and it did not start", "the conveyor is unlocked and it will not start",
    "all of the tension and none of the air pressure are gone", "all of the tension and all of the air pressure are on",
    "some of the tension and all of the air pressure are gone", "all of the tension and all of the pressure is going",
    "not all of the tension and all of the air pressure are gone", "most of the tension and all of the air pressure are gone",
    "the air is fresh and i have no gloves and my safety glasses on", "the air is not fresh and i have my gloves and my safety glasses on",
    "the air is fresh and i have my gloves and my safety glasses off", "the air is fresh and i have my gloves and no safety glasses on",
    "the air is foul and i have my gloves and my safety glasses on", "i have my gloves and my safety glasses on",
    "both hands are not safely behind the blade", "one hand is safely behind the blade",
    "both hands are safely before the blade", "both hands are safely on the blade",
    "both hands were safely behind the blade", "both his hands are safely behind the blade",
    "we will not lift this part together", "i will lift this part alone", "we will leave this part together",
    "we will lift this part later", "we will lift these parts together", "we lift this part together",
    "every cable is completely wet and in good condition", "every cable is completely dry and in bad condition",
    "not every cable is completely dry and in good condition", "every cable is nearly dry and in good condition",
    "every cable is completely dry and not in good condition", "every table is completely dry and in good condition",
    "the press is locked together and my hands are in the way", "the press is not locked together and my hands are out of the way",
    "the press is locked together and my hands are not out of the way", "the press is knocked together and my hands are out of the way",
    "the press is unlocked and my hands are out of the way", "the press is locked together and his hands are out of the way",
    "the press is locked together", "the press is almost locked together and my hands are out of the way",
    "my hands are out of the way", "the press is locked together and my hands are on their way",
    "the press shows the wrong numbers", "the press shows some other numbers", "the press does not show the same numbers",
    "the press shows nearly the same numbers", "the press showed the same numbers", "the press shows the same number",
    "the inside has not cooled down and i am going to release the pressure", "the outside has cooled down and i am going to release the pressure",
    "the inside has cooled down and i am not going to release the pressure", "the inside has heated up and i am going to release the pressure",
    "the inside has almost cooled down and i am going to release the pressure", "the inside has cooled down and he is going to release the pressure",
    "the plug is in my hand and the pressure is not zero", "the plug is in the wall and the pressure is zero",
    "the plug is not in my hand and the pressure is zero", "the plug is in my hand and the pressure is nearly zero",
    "the plug is in my hand and the pressure is two", "the plug is in his hand and the pressure is zero",
    "i know the plates are hot and i am not wearing gloves", "i know the plates are not and i am wearing gloves",
    "i know the plates are hot and i am sharing gloves", "i know the plates are cold and i am wearing gloves",
    "all of the guards are not back in place and everyone is out of the way", "all of the guards are back in place and someone is in the way",
    "none of the guards are back in place and everyone is out of the way", "some of the guards are back in place and everyone is out of the way",
    "all of the guards are back in place and no one is out of the way", "all of the guards are back in place and everyone is in the way",
    "i have not removed my own lock from the conveyor", "i have removed your own lock from the conveyor",
    "i have put my own lock on the conveyor", "i have taken my own lock to the conveyor",
    "i will remove my own lock from the conveyor", "i have removed my own clock from the conveyor",
)  # fmt: skip
