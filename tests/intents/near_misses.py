"""What people and recognisers make of commands, and what only resembles one: data for the near-miss threshold.

MEANT: nearly said -> the command meant. OTHER: speech that must not be taken for any command.
"""

from __future__ import annotations

MEANT = {
    "say agin": "repeat", "say agian": "repeat", "say that agian": "repeat", "repeat taht": "repeat", "what did you sey": "repeat",
    "one more tim": "repeat", "what did he say": "repeat", "i did not here that": "repeat", "speek slower": "slower",
    "speak slowly": "slower", "slow it down": "slower", "not to fast": "slower", "speak lauder": "louder", "i can not here you": "louder",
    "turn it dawn": "quieter", "what is that four": "why", "why is taht": "why", "what is the reson": "why", "show me haw": "how",
    "how do i do thet": "how", "how do i do the": "how", "were are we": "where", "where are we know": "where", "wich step is this": "where",
    "what step is it": "where", "what is necks": "next", "what come next": "next", "what is the next stop": "next", "how long lef": "left",
    "how much longe": "left", "how many minuts left": "left", "how much time is lef": "left", "how long until it is cool": "until_cold",
    "when can i open": "until_cold", "how long till it is cold": "until_cold", "how long until it is gold": "until_cold",
    "shoe the recipe": "recipe", "show the receipt": "recipe", "show the recipes": "recipe", "what is the resipe": "recipe",
    "show the job sheat": "job", "show me the job shed": "job", "what can i see": "what_can_i_say", "what can i stay": "what_can_i_say",
    "what tim is it": "time", "call the timer": "time", "tell me the tim": "time", "holed on": "hold", "hold one": "hold",
    "wait a minut": "hold", "pause the sesion": "hold", "keep it shot": "brief", "explain mor": "explain_more", "tell me mor": "explain_more",
    "call the super visor": "supervisor", "get the superviser": "supervisor", "call a supervisor": "supervisor",
}  # fmt: skip

OTHER = (
    "say nothing", "say when", "the paint is dry", "what a day", "what did you do yesterday", "one more beer", "the slow train",
    "speak to the manager", "turn it over", "turn it round", "turn the belt over", "turn it off", "why not", "why is the belt so short",
    "what is that noise", "how is your mother", "how do i get home", "show me the belt", "show me your hands", "where is my hammer",
    "where are the clamps", "where are my gloves", "which belt is this", "what is for dinner", "next week then", "what comes after lunch",
    "how long is the belt", "how long have you worked here", "how much does it cost", "how many boxes left", "left a bit", "to the left",
    "how long until lunch", "when can i go home", "when is the truck here", "it is cold in here", "is it raining", "the coffee is cold",
    "show the customer", "hold the belt", "hold this for me", "hold it straight", "wait for the truck", "pass me the knife", "push it over",
    "what can i do for you", "what can you see", "what time does it close", "tell me a story", "tell him to wait outside",
    "call the office", "call the customer", "call my wife", "get the ladder", "get the other cloth", "keep it straight", "keep it clean",
    "short circuit", "explain that to the boss", "a bit more", "the radio is too loud", "too much glue", "too long", "too short", "too hot",
    "pull it tight", "lift it a little", "mind the cable", "give me the rule", "give me a hand", "give me the gauge", "the belt is gold",
    "my hands are cold", "hands not clear", "leads on", "leads often", "pressure not zero", "the press is not isolated", "the heat is off",
    "the locks were moved", "we are not ready", "not yet", "not now", "do not start", "do not open it", "do not wait", "do not hold on",
    "it is not done", "i have not done that", "i accept nothing", "do not accept the joint", "that is not right at all",
    "that is nearly right", "carry on like that and you will see", "the recipe is wrong", "change the recipe", "is this the recipe",
    "no recipe", "not the recipe", "skip lunch", "hand me that", "hand over the money please", "stop the conveyor", "stop the compressor",
    "end of the belt", "back to front", "step over here", "done for today", "all clear", "the apples are ripe", "two crates of pears",
    "good morning", "did you see the match on sunday", "nice weather", "had he married a more amiable woman",
)  # fmt: skip
