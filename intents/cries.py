"""What a person in danger cries, as words, phrases and patterns over canonical words.

Kept in code, so that no edited data file can take a word away.
"""

from __future__ import annotations

WORDS = frozenset((
    "fire", "fires", "flame", "flames", "smoke", "smoking", "smoky", "burn", "burns", "burnt", "burned", "burning",
    "scald", "scalds", "scalded", "scalding", "shock", "shocked", "shocks", "electrocuted", "electrocution", "sparks",
    "sparking", "trapped", "crushed", "pinned", "hurt", "hurts", "hurting", "injured", "injury", "injuries", "wounded",
    "bleeding", "blood", "emergency", "mayday", "ambulance", "ambulances", "paramedic", "paramedics", "explosion",
    "explode", "explodes", "exploded", "exploding", "burst", "bursting", "unconscious", "collapsed", "fainted",
    "choking", "suffocating", "dying", "evacuate", "ouch",
))  # fmt: skip
PHRASES = (
    "first aid", "passed out", "not breathing", "heart attack", "can not breathe", "can not feel my", "smell gas",
    "everybody out", "everyone out", "get out of there", "let me out",
)  # fmt: skip

_WHOSE = "(?:my|his|her|your|our|their|one|someones|somebodys|a)"
_LIMB = "(?:hands?|fingers?|fingertips?|thumbs?|arms?|wrists?|elbows?|foot|feet|legs?|toes?|hair|sleeves?|gloves?|head|neck|eyes?|skin)"
_PART = rf"{_WHOSE} (?:own |left |right |other |whole |two |little )*{_LIMB}"  # 'the fingers' are the belt's
_BARE = "(?<!the )(?:hands?|fingers?|thumbs?|arms?|foot|legs?)"
_HELD = "(?:stuck|caught|jammed|wedged|pinched|clamped|squashed|cut|cut off|crushed|trapped)"
_PERSON = "(?:me|him|her|us|them|my|his|somebody|someone|the man|the boy|the girl|the woman)"
_AGAIN = "(?: (?:please|it|that|this|now|me|us|oh|god|no|the press|the machine))*"
_CALL = "(?:call|dial|ring|phone)"
_NUMBER = "(?:911|112|999|9 1 1|1 1 2|9 9 9|nine one one|one one two|nine nine nine|nine eleven)"
_ONE = "(?:me|him|her|us)"
CRIES = (
    rf"stop{_AGAIN} stop",
    rf"help{_AGAIN} help",
    rf"(?:{_PART}|{_BARE}) (?:(?:is|are|was|got|has|have|gets|get|been|being) )*{_HELD}",
    rf"(?:(?:i|we|he|she) got|(?:i am|we are|he is|she is|someone is|somebody is)(?: being| getting)?) {_HELD}",
    rf"(?:caught|pinched|jammed|squashed|clamped|crushed|cut|cut off|slit|sliced|stuck|lost|nipped) {_PART}",
    r"(?:cut|caught|pinched|jammed) (?:myself|himself|herself)",
    rf"(?:can not|could not|can you not) (?:get|pull|move|free|feel) {_PART}",
    rf"(?:get|pull|free) (?:me|him|her|us|them|{_PART}) (?:out|loose|off|free)",
    r"get (?:it|this|that) off (?:me|him|her|my|his)",
    rf"(?:fell|fallen|dropped|falling|falls) on(?: to|to)? {_PERSON}",
    rf"in(?:to)? {_WHOSE} (?:eye|eyes|face)",
    rf"{_CALL} (?:{_NUMBER}|(?:the |a )?(?:doctor|medic|hospital|rescue))",
    r"(?:need|get|fetch) (?:a |the )?(?:doctor|medic)",
    rf"(?:crushing|squashing|squeezing|trapping|pinching|burning) (?:{_ONE}|{_PART})",
    rf"(?:pulling|pulled|pulls|dragging|dragged|drags|sucking|sucked|drawing|drew) (?:{_ONE}|{_PART}) (?:right )?(?:in|into|under|through)",
    rf"(?:came|comes|coming|come|went|going|closing|closed|closes) (?:down )?on(?: to)? (?:{_ONE}|{_PART})",
    rf"(?:the|a|my|his) (?:knife|blade|cutter|scalpel) (?:went|slipped|ran|cut|stuck) (?:right |deep )?(?:into|in|through|across) (?:{_ONE}|{_PART})",
    rf"get (?:it|this|that|the (?:press|plate|platen|beam|belt|roller|machine|thing)) off (?:{_ONE}|{_PART})",
    rf"(?:{_ONE}|i|he|she|somebody|someone|{_PART}) (?:(?:got|get|gets|is|am|are|was|being|has|been) )+(?:pulled|dragged|sucked|drawn) (?:right )?(?:in|into|under|through|down)",
    rf"(?:wrapped|wound|tangled|twisted|looped) (?:up )?(?:around|round|in) {_PART}",
    rf"(?:got|has|have|had|caught|took|grabbed|holds|pulling|dragging) {_ONE} by (?:the|{_WHOSE}) {_LIMB}",
    r"i am still (?:in there|under there|under it|in between)",
    rf"{_PART} (?:is|are) (?:melting|smouldering|bleeding|broken|gone|numb)",
    r"(?:my|his|her|our|their) (?:eyes|throat|lungs|skin) (?:is|are) (?:stinging|watering)",
    r"(?:knife|blade|nail|screw|splinter|wire) (?:is |went )?(?:stuck |right )?in(?:to)? (?:my|his|her) (?:leg|foot|arm|eye|neck|head|back)",
    rf"(?:dripped|dripping|drips|spilled|splashed|poured|sprayed|squirted|dropped it|dropped the (?:plate|platen|beam|roller|knife)) (?:right |all )?(?:on|on to|onto|over|in|into|down|through) (?:{_ONE}|{_PART})",
    r"(?:hit|banged|knocked|bumped|cracked) (?:my|his|her) head",
    r"(?:he|she|somebody|someone) (?:is|was) out cold",
    r"(?:cable|wire|plug|connector|heater|cabinet|socket|lead|it) is arcing",
    r"got (?:an? )?(?:zapped|electric jolt|jolt from)",
    r"(?:do not|not to) (?:start|close|move|switch on|lower) (?:it|the (?:press|machine|belt|conveyor)) (?:i am|he is|she is|we are|somebody is|someone is) (?:still )?(?:inside|in it|in there|under it|on it)",
)
"""Cries that are more than one fixed phrase, as regular expressions over canonical words."""

_THICK = "(?:(?:a lot of|lots of|so much|so many|some|a|bad|sharp|nasty|strong|thick|white|yellow|hot) )*"
_BAD_AIR = "(?:fumes|chlorine(?: gas)?|(?:hydrogen )?chloride|acid|acid gas|(?:acid|chlorine) fumes)"
_MOVING = "(?:it|the (?:press|machine|belt|conveyor))"
_THE_MACHINE = "(?:the (?:press|machine|belt|conveyor))"
_THING_ON = "(?:it|the (?:press|machine|plate|platen|beam|roller|belt|trolley|template))"
_SOMEBODY = "(?:he|she|somebody|someone|the man|the boy|the woman|the girl|my mate|my colleague|my helper)"
_GRABS = "(?:it|something|the (?:press|machine|belt|conveyor|roller|drum|plate|platen|beam|clamp|puller|winch))(?: has| just)?(?: got| grabbed| caught| took| bit| ate| is holding| is pulling| is eating| is biting| is pulling on| holds| has)?"
_AT_ONCE = "(?:now|right now|quick|quickly|fast|at once|immediately|here|over here|please quick)"
_OUT = "(?:out|out of (?:the |its )?(?:press|machine|platens?|template|joint|belt|hose|cable|coupling|valve|sides?|top|back|front))"
PLAIN_CRIES = (
    r"help (?:me|us|him|her)",
    r"stop the (?:press|machine)",
    rf"{_MOVING} (?:(?:will|does|can) not stop|is not stopping)",
    rf"(?:i|we) can not stop {_MOVING}",
    r"chlorine(?: gas)?",
    rf"there (?:is|are) {_THICK}(?:smell of )?{_BAD_AIR}",
    rf"{_THICK}{_BAD_AIR} everywhere",
    rf"(?:i|we) (?:can )?(?:smell|smelled) {_THICK}{_BAD_AIR}",
    rf"(?:i|we) (?:have )?breathed in {_THICK}(?:the )?{_BAD_AIR}",
    rf"(?:it|the (?:press|belt|joint|air|shop)) (?:smells|stinks) (?:of|like) {_THICK}{_BAD_AIR}",
    rf"(?:there (?:is|are) )?{_THICK}(?:steam|gas|{_BAD_AIR}) (?:(?:is|are) )?(?:coming|pouring|blowing|shooting|leaking) {_OUT}",
    r"(?:the|this|that|my|his) (?:cable|lead|wire|plug|connector|frame|housing|metal) is (?:still )?live",
    r"(?:the )?(?:pins|wires|leads|cables|contacts) are (?:still )?live",
    rf"(?:stop|switch off|turn off) (?:it|this|that|everything|the (?:conveyor|belt|motor|pump|roller)) {_AT_ONCE}",
    rf"(?:switch|turn|shut) (?:it|this|that|everything|{_THE_MACHINE}) off {_AT_ONCE}",
    r"(?:cut|kill) the (?:power|current|electricity|mains)",
    rf"(?:switch|turn|shut) off the (?:power|current|electricity|mains|air|air supply|press|machine|conveyor) {_AT_ONCE}",
    r"(?:hit|smash) the (?:stop|red button|stop button)",
    rf"(?:it|the [a-z]+)(?: just| has)?(?: (?:flew|came|swung|slipped|fell|shot|blew)(?: off| out| down| over)?(?: and)?)? (?:hit|struck|knocked down) {_ONE}",
    rf"(?:{_GRABS} )+(?:{_PART}|(?<=has )(?:me|him|her)|(?<=has got )(?:me|him|her))",
    rf"{_THING_ON} is (?:still )?on (?:top of )?(?:{_PART}|(?<=top of )(?:me|him|her))",
    rf"(?:{_PART}|my hand|{_SOMEBODY}) (?:is|are|got|went|go|goes) (?:still |right |in |down )*(?:in|into|inside|in between|between) (?:it|there|{_THE_MACHINE}|the (?:plates|platens|rollers|roller|drum|jaws|beams))",
    rf"{_PART} (?:is|are) (?:still )?(?:in|inside|in there|in here|under it|underneath|under the (?:press|plate|platen|beam|roller|machine))",
    rf"(?:i am|{_SOMEBODY} is|we are) under (?:it|the (?:press|machine|plate|platen|beam|roller))",
    r"it (?:has|has got|got) me",
    r"(?:turn|switch|shut) (?:off the power|it down now|it down quick|the power off)",
    rf"(?:i am|{_SOMEBODY} is|we are) still (?:inside|in it|in there|in here|on it|under it|between it|(?:inside|in|on|under) {_THE_MACHINE})",
    rf"(?:i|we|{_SOMEBODY}) can not (?:get out|get loose|get free|get away|get off|let go(?: of (?:it|the (?:cable|wire|frame|press)))?|move|get my breath)",
    rf"(?:{_MOVING}|the heaters?|the heating|the power) (?:will|does|do|can) not (?:switch|turn|shut) off",
    r"(?:it|the hose|the line) (?:is|keeps) (?:whipping|thrashing|lashing)(?: around| about)?",
    rf"{_MOVING} (?:will|does) not let go(?: of (?:{_PART}|me|him|her))?",
    rf"{_SOMEBODY} (?:is|was) (?:lying |lying down |down )?on the (?:floor|ground|concrete)",
    rf"{_SOMEBODY} is down",
    rf"open (?:it|the press) (?:(?:up|now|quick|please) )*{_PART}",
    r"man down",
    rf"(?:i|{_SOMEBODY}) (?:just )?(?:fell down|fell over|has fallen|have fallen|keeled over|went down|blacked out|fell off the (?:press|ladder|conveyor|frame))",
    rf"{_SOMEBODY} (?:is not|does not|will not) (?:moving|move|responding|respond|reacting|react|waking up|wake up|conscious|talking)",
    rf"{_SOMEBODY} is (?:screaming|shaking all over|twitching|turning blue)",
    r"(?:the )?(?:air |pressure |compressed air )?(?:hose|line|pipe|coupling) (?:is |has |it is )?(?:come off and (?:it )?(?:is )?)?(?:whipping|thrashing|flying|lashing)(?: around| about)?",
    r"(?:the )?(?:air |pressure |compressed air )?(?:hose|line|pipe|coupling|fitting) (?:just )?(?:(?:has |just )?(?:come|came|blown|blew|flown|flew|popped|shot|jumped|ripped) off)",
    rf"{_MOVING} (?:is |has |just )*(?:moving|started|starting|opening|closing|running|starts|moves|opens|closes|opened|closed) (?:all )?(?:by itself|on its own)",
    rf"(?:{_MOVING}|the hose|the joint) is (?:going to|about to|gonna) (?:blow|blow up|blow off|go up|tip over|fall)",
    rf"(?:i|we) need (?:some )?(?:help|somebody|someone) {_AT_ONCE}",
    r"(?:get|fetch|send|bring)(?: me| us)? help",
    rf"(?:get|fetch|send|bring)(?: me| us)? (?:somebody|someone|anybody) {_AT_ONCE}",
    rf"get (?:it|this|that) off {_AT_ONCE}",
    r"(?:everybody|everyone|all of you) (?:run|back|get back|get away|get clear|leave)",
    r"get away from (?:it|there|the (?:press|machine|belt|conveyor|hose|cable))",
    r"(?:look|watch) out",
    r"(?:i|we) (?:feel|am feeling|are feeling) (?:very |really |so )?(?:dizzy|faint|sick)",
    r"i am (?:very |really |so )?(?:dizzy|faint|cut bad|cut badly)",
)
"""Cries only as all that a clause says, several of them perhaps, as regular expressions over its canonical words: in
longer speech they are plain."""

AROUND = (
    "oh", "god", "my god", "hey", "look", "careful", "quick", "quickly", "please", "now", "somebody", "someone", "anybody",
    "anyone", "help", "stop", "here", "in here", "there", "over there", "right now", "fast", "at once", "immediately",
    "everywhere", "any more", "anymore", "at all", "oh no", "stop the conveyor", "stop the belt", "stop the roller", "open it", "open the press", "open it up", "let go", "get it up", "get the press up", "lift it", "lift it up", "lift the press",
    "raise it", "raise the press", "switch it off", "turn it off",
    "wait", "ow", "do not close it", "do not start it", "do not move it", "do not open it", "do not lower it",
    "it will not open", "he is not answering", "she is not answering", "he does not answer", "she does not answer", "stop it", "the conveyor is starting", "the belt is starting",
    "it is starting", "the hose is loose", "the air hose is loose", "it is still moving", "it is closing", "the press is closing",
)  # fmt: skip
"""What may stand before, after and between plain cries in one clause, and is none itself."""
