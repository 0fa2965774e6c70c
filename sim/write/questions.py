"""What is asked for a new case, in words. Plain data: nothing here reads an answer or loads anything."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sim.case.quantities import System

USUAL = "usual"
"""The answer that leaves a figure to what is usual for each filter."""

UNKNOWN = "unknown"
"""The answer of who does not know it."""

NONE = "none"
"""The answer of whose plant has no such thing."""

AS_SOLIDS = "not known: the {filter} is followed as a filter of solids alone"


@dataclass(frozen=True, slots=True)
class Question:
    """One thing asked.

    `key` names the answer and, after two dashes, its option; `hint` stands for the value in the help of the option;
    `words` is the question, `si` an example and `us` one in US units where it differs; `explained` is what `?` shows;
    `otherwise` says what stands in for no answer, "" where nothing can. `filters`: the kinds of filter of which one
    has to be in the train for it to be asked; none: it always is. `several`: of several filters only.
    """

    key: str
    hint: str
    words: str
    explained: str
    si: str
    us: str = ""
    otherwise: str = ""
    filters: tuple[str, ...] = ()
    several: bool = False

    @property
    def examples(self) -> Mapping[System, str]:
        """An answer in each system of units."""
        return {"si": self.si, "us": self.us or self.si}

    @property
    def needed(self) -> bool:
        """Whether nothing can stand in for an answer."""
        return not self.otherwise

    @property
    def absent(self) -> str:
        """What becomes of no answer."""
        return "Needed." if self.needed else f"Without it: {self.otherwise}."

    def about(self, system: System) -> str:
        """All that helps to answer it."""
        return f"As in {self.examples[system]}. {self.explained}{'' if self.needed else f' {self.absent}'}"

    def concerns(self, train: Collection[str]) -> bool:
        """Whether it is asked for a train of such filters."""
        if self.several and len(train) < MORE_THAN_ONE:
            return False
        return not self.filters or any(kind in train for kind in self.filters)


MORE_THAN_ONE = 2
QUESTIONS = (
    Question(
        "units",
        "si|us",
        "Units of what is written, si or us",
        "si writes m, m3/h and kPa, us in, gpm and psi. Your own answers may be in either and stay as they are.",
        si="si",
        otherwise="si",
    ),
    Question(
        "water",
        "KIND",
        "Kind of water: town, town with old mains, clear well, iron well, lake, river or pretreated reuse",
        "It decides what is assumed of the solids: their mass for each NTU, how densely they settle in"
        " the bed, and how often storms stir them up. Take the kind that comes nearest; every figure can be changed.",
        si="lake",
    ),
    Question(
        "train",
        "LIST",
        "Filters in the order of the water, with commas: media, oxidising, carbon, softener",
        "Up to six; one of a kind already named follows as in media,media,carbon. media is anthracite over sand."
        " oxidising media, carbon and softener are followed as what they are where the iron and manganese, the"
        " chlorine and the hardness of the water are known, else as filters of solids.",
        si="media,carbon",
    ),
    Question(
        "use",
        "WORD",
        "What the filtered water is for: membrane, process, food, drinking or unknown",
        "For drinking or food, and where nobody says, no advice makes a run longer or a wash shorter than it is.",
        si="process",
        otherwise="unknown, treated as drinking water",
    ),
    Question(
        "together",
        "WORD",
        "What happens when two filters are due at once: overlap or wait",
        "overlap: nothing stops them, each washes when its own timer or switch says so. wait: they are wired so that"
        " one waits for the other. Look at the wiring: timers know nothing of each other.",
        si="wait",
        otherwise="overlap",
        several=True,
    ),
    Question(
        "diameter",
        "Q",
        "Inner diameter of the filters",
        "Of the vessel, without its wall; all filters of the train get the same. The file takes one for each.",
        si="0.9 m",
        us="36 in",
    ),
    Question(
        "flow",
        "Q",
        "Flow while water is used",
        "What the train delivers in an hour of use. With the diameter it gives the filtration rate, said at the end.",
        si="6 m3/h",
        us="30 gpm",
    ),
    Question(
        "hours",
        "N",
        "Hours of use a day",
        "A whole number from 1 to 24. They are taken together, from the morning on; the file has the flow of each.",
        si="14",
    ),
    Question(
        "days",
        "N",
        "Days of use a week",
        "A whole number from 1 to 7, counted from Monday.",
        si="6",
        otherwise="7",
    ),
    Question(
        "turbidity",
        "Q",
        "Turbidity of the water that comes",
        "The usual value, without storms. If the suspended solids are known, give those, as in 7 mg/L. Of a water"
        " with dissolved iron: before it is oxidised, since the floc of that iron is counted from its own figure.",
        si="5 NTU",
    ),
    Question(
        "limit",
        "Q",
        "Most turbidity that the filtered water may have",
        "In NTU or mg/L; hours above it are counted for every filter. It sets no goal: take the site's own. A clean"
        " bed has to be able to keep it, or every hour of use counts as over it.",
        si="0.6 NTU",
        otherwise="a fifth of the turbidity that comes, at most 1 NTU, or more where a clean bed lets more through",
    ),
    Question(
        "temperature",
        "LOW..HIGH",
        "Temperature of the water, coldest..warmest of the year",
        "Cold water is more viscous and raises the pressure drop. One value alone stays all year.",
        si="6..21 degC",
        us="43..70 degF",
    ),
    Question(
        "coagulant",
        "ANSWER",
        "Is a coagulant dosed before the filters: no, yes, or product and dose",
        "Without one a filter lets several times as much through: this is the answer that matters most. Products:"
        " alum, ferric chloride, ferric sulfate, aluminium or iron (the metal of any product). The dose in mg/L, or"
        " in mg/L per NTU where it follows the turbidity, as in alum 1.3 mg/L per NTU. It is the plant's own: none is"
        " recommended.",
        si="yes",
    ),
    Question(
        "depth",
        "Q",
        "Depth of media in each filter",
        "All layers together, the same in every filter; usual takes what is usual for each.",
        si="0.8 m",
        us="32 in",
        otherwise="what is usual for each filter",
    ),
    Question(
        "backwash",
        "Q",
        "Flow of the backwash",
        "What the pump or main gives. A filter whose media are light takes no more than they can bear; usual takes"
        " what is usual for the media and the diameter.",
        si="24 m3/h",
        us="100 gpm",
        otherwise="what is usual for media and diameter",
    ),
    Question(
        "hardness",
        "Q",
        "Hardness of the water that comes, as CaCO3",
        "In mg/L as CaCO3, gpg (grains per gallon), dH or fH (degrees). With the resin it says how"
        " much water a regeneration is good for; the file then has salt, brine and rinses of the softener.",
        si="230 mg/L",
        us="13 gpg",
        otherwise=AS_SOLIDS.format(filter="softener"),
        filters=("softener",),
    ),
    Question(
        "iron",
        "Q",
        "Dissolved iron of the water that comes",
        "As it comes, before anything is dosed; iron that is floc already belongs to the turbidity.",
        si="1.4 mg/L",
        otherwise="not known: with no manganese either, the oxidising media are followed as a filter of solids alone",
        filters=("oxidising",),
    ),
    Question(
        "manganese",
        "Q",
        "Dissolved manganese of the water that comes",
        "As for iron.",
        si="0.12 mg/L",
        otherwise="not known: with no iron either, the oxidising media are followed as a filter of solids alone",
        filters=("oxidising",),
    ),
    Question(
        "pH",
        "N",
        "pH of the water that comes",
        "A number without unit. Air oxidises iron the faster the higher it is; check holds it against what is usual.",
        si="7.4",
        otherwise="not known; air then cannot be followed",
        filters=("oxidising",),
    ),
    Question(
        "oxidant",
        "ANSWER",
        "What is dosed ahead of the oxidising media: none, or chlorine, permanganate or air, and how much",
        "The dose in mg/L, of chlorine as Cl2, of permanganate as KMnO4, as in chlorine 1.7 mg/L; of air the time of"
        " contact in its place, as in air 25 min. The word alone where nobody knows how much. The dose is the plant's"
        " own: none is recommended.",
        si="chlorine",
        otherwise="none",
        filters=("oxidising",),
    ),
    Question(
        "permanganate",
        "Q",
        "Permanganate that a regeneration of the oxidising media brings",
        "The mass of a batch, where the media are regenerated with one. It is the plant's own: none is recommended.",
        si="90 g",
        us="0.2 lb",
        otherwise="none: the media are regenerated by what is dosed, or not at all",
        filters=("oxidising",),
    ),
    Question(
        "chlorine",
        "Q",
        "Free chlorine of the water that comes",
        "As Cl2, before anything is dosed at the plant.",
        si="0.4 mg/L",
        otherwise="not known: the carbon is followed as a filter of solids alone, unless chlorine is dosed before it",
        filters=("carbon",),
    ),
)

BY_KEY: Mapping[str, Question] = MappingProxyType({question.key: question for question in QUESTIONS})
