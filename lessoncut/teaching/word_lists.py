"""Closed lists of English: the words whose part of speech decides how they are said.

Function words are complete classes; verbs, adjectives and phrasal verbs are the common ones (own choice). Weak forms
are those of P. Roach, "English Phonetics and Phonology", ch. 12, in General American vowels (from memory).
"""

from __future__ import annotations


def words(written: str) -> frozenset[str]:
    """The words of a text that spaces divide."""
    return frozenset(written.split())


ARTICLES = words("a an the")
SUBJECTS = words("i you he she it we they who")
PRONOUNS = words(
    "i you he she it we they me him us them myself yourself himself herself itself ourselves yourselves"
    " themselves oneself em 'em"
)
INDEFINITE = words("someone somebody something anyone anybody anything everyone everybody everything one ones")
STRONG_PRONOUNS = words("mine yours hers ours theirs nobody nothing none")
POSSESSIVES = words("my your his her its our their whose")
DEMONSTRATIVES = words("this that these those")
WEAK_DETERMINERS = words("some any such")
QUANTIFIERS = words(
    "all both each every many much more most few several another other others enough half either neither little"
    " less least no same next last whole lots lot"
)
PREPOSITIONS = words(
    "at for from of to in on by with about into onto under over behind between before after without through"
    " during against among around across along above below beside besides beyond near toward towards upon within"
    " until till since except despite per via off than as up down out like inside outside underneath opposite past"
)
PLACE_ADVERBS = words("above below before after behind inside outside underneath opposite past near beyond within by")
"""Prepositions that are adverbs where nothing follows them."""
PARTICLES = words("up down out off away back over in on through around along by about together apart aside forward")
CONJUNCTIONS = words(
    "and but or nor so yet if because although though unless whereas whether while that when where since until"
    " till as than before after once"
)
BE = words("am is are was were be been being")
DO = words("do does did")
HAVE = words("have has had having")
MODALS = words("can could will would shall should may might must ought")
NEGATIVES = words("not never cannot nor no")
QUESTION_WORDS = words("who whom whose what which when where why how")
RELATIVES = words("who whom whose which that where when")
INTERJECTIONS = words("yes no oh ah hey hi hello wow please thanks okay ok well goodbye bye sorry yeah")
LATE_ADVERBS = words(
    "today yesterday tomorrow tonight now then again too either anyway though please already here there first"
)
"""Adverbs that follow the focus more often than they carry it."""
CONTRACTED_ENDINGS = ("'m", "'re", "'ve", "'ll", "'d")
NUMBERS = words(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen"
    " seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand million"
    " billion first second third fourth fifth sixth seventh eighth ninth tenth dozen"
)

WEAK_FORMS = {
    "a": "ə", "an": "ən", "the": "ðə", "some": "səm", "and": "ən", "but": "bət", "than": "ðən", "that": "ðət",
    "or": "ər", "as": "əz", "at": "ət", "for": "fər", "from": "frəm", "of": "əv", "to": "tə", "he": "i", "him": "ɪm",
    "his": "ɪz", "her": "ər", "she": "ʃi", "we": "wi", "me": "mi", "us": "əs", "you": "jə", "your": "jər",
    "them": "ðəm", "who": "u", "there": "ðər", "am": "əm", "is": "ɪz", "are": "ər", "was": "wəz", "were": "wər",
    "be": "bi", "been": "bɪn", "do": "də", "does": "dəz", "have": "əv", "has": "əz", "had": "əd", "can": "kən",
    "could": "kəd", "will": "əl", "would": "wəd", "shall": "ʃəl", "should": "ʃəd", "must": "məst",
}  # fmt: skip
WITH_H = words("he him his her who have has had")
"""Words whose weak form lost its h; after a stop they keep it (Roach, ch. 12; from memory)."""
BEFORE_VOWEL = {"the": "ði", "to": "tu", "do": "du"}
"""Weak forms that are others before a vowel (Roach, ch. 12; from memory)."""

VERBS = words(
    "be have do say go get make know think take see come want look use find give tell work call try ask need feel"
    " become leave put mean keep let begin seem help show hear play run move live believe bring happen write sit"
    " stand lose pay meet include continue set learn change lead understand watch follow stop create speak read"
    " spend grow open walk win teach offer remember consider appear buy serve die send build stay fall cut reach"
    " kill raise pass sell decide return explain hope develop carry break receive agree support hit produce eat"
    " cover catch draw choose wait listen repeat practise practice drive fly ride swim sing dance sleep wake wear"
    " wash clean cook bake drink pour fill close shut turn pick drop hold throw pull push climb jump count cross"
    " visit travel arrive finish start enjoy like love hate prefer forget wish worry laugh smile cry shout whisper"
    " answer point touch smell taste save waste lend borrow rent plan check fix mend paint plant water weigh"
    " measure share invite thank welcome warn promise refuse allow record present object permit project address"
    " protest produce suspect export import transport increase decrease insult conduct desert expect notice"
    " recognise recognize wonder guess imagine study knock ring rain snow park pack unpack wrap tie lift lie lay"
    " rise shine blow bite burn feed fight hide hurt steal swing tear throw wind sail vote volunteer view vary"
)
IRREGULAR_PAST = words(
    "was were had did said went got made knew thought took saw came found gave told felt became left put meant"
    " kept let began heard ran brought wrote sat stood lost paid met set led understood spoke read spent grew won"
    " taught bought sent built fell cut sold broke hit ate caught drew chose drove flew rode swam sang slept woke"
    " wore drank shut held threw forgot lent hid hurt stole rose shone blew bit burnt fed fought tore wound lay"
    " laid rang"
)
PARTICIPLES = words(
    "been had done said gone got gotten made known thought taken seen come found given told felt become left put"
    " meant kept let begun heard run brought written sat stood lost paid met set led understood spoken read spent"
    " grown won taught bought sent built fallen cut sold broken hit eaten caught drawn chosen driven flown ridden"
    " swum sung slept woken worn drunk shut held thrown forgotten lent hidden hurt stolen risen shone blown bitten"
    " burnt fed fought torn wound lain laid rung"
)
ADJECTIVES = words(
    "good bad new old young big small large little great high low long short tall wide narrow deep shallow thick"
    " thin heavy light fast slow quick early late easy hard soft loud quiet hot cold warm cool wet dry clean dirty"
    " full empty rich poor cheap dear happy sad angry kind nice fine right wrong true false real free safe sure"
    " clear dark bright red blue green yellow white black brown grey gray pink orange purple open busy ready sick"
    " ill well fresh sweet sour bitter salty hungry thirsty tired strong weak sharp flat round square straight"
    " clever stupid funny strange simple plain pretty ugly lovely friendly lonely silly lively likely main only"
    " other own same different important possible whole local public private modern ancient foreign human common"
    " rare proper perfect correct favourite favorite golden wooden silver northern southern eastern western violet"
    " vast vivid velvet"
)
ADVERBS = words(
    "very really quite too so just only even still already always often usually sometimes never seldom rarely"
    " ever again soon now then here there today tomorrow yesterday tonight almost nearly perhaps maybe together"
    " alone away back home abroad upstairs downstairs outside inside forward twice once far fast hard late early"
    " well instead else also however therefore anyway yet indeed everywhere nowhere somewhere anywhere please ago"
    " later straight right"
)
COMPOUND_HEADS = words(
    "station stop office book books room shop store school bus card cards ticket tickets machine class lesson"
    " teacher driver player maker keeper worker bag cup cups pot glass box phone number paper list game games"
    " party line house juice stick ball court ground yard shelf coat case bottle window lamp seat belt pool team"
    " club test exam form building lot light lights knife tree trees store market alarm keys key cake guard bell"
    " board man woman street"
)
"""Second nouns that leave the stress to the first: BUS stop, TICKET office, BIRTHDAY cake (but apple PIE)."""
PHRASAL = {
    verb: words(particles)
    for verb, particles in {
        "pick": "up out", "put": "on off up down away back out in", "take": "off out away back up down over",
        "turn": "on off up down around over back", "give": "up back away in out", "get": "up off on back out in down",
        "go": "out away back on off up down in", "come": "in back out up down over on", "look": "up out around back",
        "sit": "down up", "stand": "up", "wake": "up", "switch": "on off", "try": "on out", "write": "down up",
        "throw": "away out", "find": "out", "work": "out", "break": "down up in", "call": "back up off",
        "hang": "up on", "run": "away out off", "set": "up off out", "fill": "in up out", "hold": "on up back",
        "wash": "up",
        "clean": "up out", "cut": "off out down up", "let": "in out down", "move": "in out away on",
        "bring": "back up in", "carry": "on out", "shut": "down up", "grow": "up", "hurry": "up", "lie": "down",
        "point": "out", "send": "back off out", "slow": "down", "speak": "up", "stay": "up in out", "walk": "away out",
        "fall": "down over off", "keep": "on up out", "check": "in out", "drop": "off in", "show": "off up",
        "wind": "up", "wrap": "up", "knock": "over down out", "pull": "up out off down",
    }.items()
}  # fmt: skip
COPULAS = words("be look feel sound taste smell seem is are was were am been looks feels sounds tastes smells")

HETERONYMS: dict[str, dict[str, str]] = {
    "close": {"verb": "K L OW1 Z", "noun": "K L OW1 S", "adjective": "K L OW1 S", "adverb": "K L OW1 S"},
    "use": {"verb": "Y UW1 Z", "noun": "Y UW1 S"},
    "house": {"verb": "HH AW1 Z", "noun": "HH AW1 S"},
    "excuse": {"verb": "IH0 K S K Y UW1 Z", "noun": "IH0 K S K Y UW1 S"},
    "live": {"verb": "L IH1 V", "adjective": "L AY1 V", "adverb": "L AY1 V", "noun": "L AY1 V"},
    "lives": {"verb": "L IH1 V Z", "noun": "L AY1 V Z"},
    "lead": {"verb": "L IY1 D", "noun": "L IY1 D"},
    "read": {"verb": "R IY1 D", "past": "R EH1 D", "noun": "R IY1 D"},
    "wind": {"verb": "W AY1 N D", "noun": "W IH1 N D"},
    "tear": {"verb": "T EH1 R", "noun": "T IH1 R"},
    "tears": {"verb": "T EH1 R Z", "noun": "T IH1 R Z"},
    "wound": {"past": "W AW1 N D", "noun": "W UW1 N D"},
    "separate": {"verb": "S EH1 P ER0 EY2 T", "adjective": "S EH1 P ER0 IH0 T"},
    "estimate": {"verb": "EH1 S T AH0 M EY2 T", "noun": "EH1 S T AH0 M AH0 T"},
    "graduate": {"verb": "G R AE1 JH AH0 W EY2 T", "noun": "G R AE1 JH AH0 W AH0 T"},
    "minute": {"noun": "M IH1 N AH0 T", "adjective": "M AY0 N UW1 T"},
}  # fmt: skip
"""Words whose sounds, not only their stress, depend on the part of speech."""
NO_WORDS = words(
    "adam alan albert alex alice amy andrew andy ann anna anne annie barry ben bill bob brad brian bruce carl"
    " carol chad charlie chris claire clark craig dale dan dave david dean debbie dennis derek dick don donna doug"
    " duke earl eddie ellen emma eric erin eve floyd frank fred gail gary gavin gene george gibbs glenn greg hal"
    " hank harry helen henry hugh ian jack jake james jan jane jason jean jeff jen jenny jerry jill jim joan joe"
    " joel john josh joyce juan judy karen kate keith ken kent kevin kurt kyle lance larry lee len les leslie"
    " linda lisa liz lloyd lou louis luke lynn madison marc marie mark marsha martin marty matt max meg mel mike"
    " molly nate neal ned neil nick norm pam pat pats patty paul peg penny pete peter phil quinn rachel ralph"
    " randy ray reed reid rex rick rita rob robin rod roger ron ross roy ruth ryan sally sam sandy sara sarah"
    " scott sean seth shane shawn sid sim stan steve stu sue ted terry thor tim tina todd tom tony troy vance vera"
    " vern vic vick vince wade walt walter wayne wendy wes york paris dallas kim lynne lind rhine rome seine thai"
    " wang wong wu ching chang chung das dat des por med min rep bro gen ich que est los las del der die von ang"
    " eng ing ist ide tis dis mei sci phi tho tha thee mick vin viv wyn wynn wick weil whelan vie ver vous boo"
    " weiss essex perth boyd deb dev bali gabe sec sen kerry god gods aaron ada ali arthur bailey beth bernie"
    " betty biden blair bobby bonnie boris bradley brett brock brooke burke burt burton caesar cal cameron carroll"
    " carter catherine cheney cobb corey dylan elle ellie erik ethan eva evan finn fran gerald gina gordon gus"
    " hanks hannah harold harris hayes hector hughes jackie jess jesse jimmy johnny jon jones jordan jules julie"
    " karl kathy kelly kirk koch kong lucy luther marshall michael milton mitch mitchell nancy nathan oprah perry"
    " phillip phyllis quincy reagan ronnie rudy russell saul shaun shaw shelly sherman simon susan suzy sutton taj"
    " trevor tyler valerie vader vaughn vernon walsh warner watts xena yale yang yuri zack zoe zeus obama barack"
    " alot als auch aus che cha chem com cos cant dos ers foo goo har hee hoc ins jos kung lan ling mah mas mets"
    " moe mon nat nic nye ole pas pero poe pol pow pre san sao sind som sri suh tae tal tess uni und vis wont hun"
    " jeb jeter rom nur haitians haitian heath gonna gotta gotcha wanna lotta outta oughta lil aint depp hague"
    " leery"
)
"""Names, and pieces that the dictionary lists among words: no use in a list of minimal pairs."""
