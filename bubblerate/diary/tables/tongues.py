"""Turns words in tables in ten languages into the English words that the readers know.

German, French, Spanish, Italian, Portuguese, Dutch, Swedish, Danish, Polish and Czech. Names of
months are from the Unicode CLDR (Gregorian calendar, wide and abbreviated, formatting and
stand-alone forms), from memory. Words of headings are common ones, from memory, no source. Letters
are compared without their marks.
"""

import re
import unicodedata
from functools import cache

from ...text import MONTHS

__all__ = ["english", "english_date"]

_MONTHS = (
    "januar jan janvier janv enero ene gennaio gen janeiro januari styczen stycznia sty leden "
    "ledna led",
    "februar feb fevrier fevr febrero febbraio fevereiro fev februari luty lutego lut unor "
    "unora uno",
    "marz maerz mar mars marzo marco maart mrt marts marzec marca brezen brezna bre",
    "april apr avril avr abril abr aprile kwiecien kwietnia kwi duben dubna dub",
    "mai mayo may maggio mag maio mei maj maja kveten kvetna kve",
    "juni jun juin junio giugno giu junho czerwiec czerwca cze cerven cervna cvn",
    "juli jul juillet juil julio luglio lug julho lipiec lipca lip cervenec cervence cvc",
    "august aug aout agosto ago augustus augusti sierpien sierpnia sie srpen srpna srp",
    "september sep sept septembre septiembre settembre set setembro wrzesien wrzesnia wrz zari zar",
    "oktober okt octobre oct octubre ottobre ott outubro out pazdziernik pazdziernika paz rijen "
    "rijna rij",
    "november nov novembre noviembre novembro listopad listopada listopadu lis",
    "dezember dez decembre dec diciembre dic dicembre dezembro december grudzien grudnia gru "
    "prosinec prosince pro",
)
_WEEKDAYS = (
    "mo di mi do fr sa so montag dienstag mittwoch donnerstag freitag samstag sonntag",
    "lun mar mer jeu ven sam dim lundi mardi mercredi jeudi vendredi samedi dimanche",
    "mie jue vie sab dom lunes martes miercoles jueves viernes sabado domingo",
    "gio lunedi martedi mercoledi giovedi venerdi sabato domenica",
    "seg ter qua qui sex segunda terca quarta quinta sexta",
    "ma wo vr za zo maandag dinsdag woensdag donderdag vrijdag zaterdag zondag",
    "man tis tir ons tor tors fre lor son",
    "mandag tisdag tirsdag onsdag torsdag fredag lordag sondag",
    "pon wt sr czw pt nd poniedzialek wtorek sroda czwartek piatek sobota niedziela",
    "po ut st ct pa ne pondeli utery streda ctvrtek patek nedele",
)
_BETWEEN = {"de", "del", "di", "da", "den", "le", "el", "il", "d"}  # as in 24th of November

_HEADINGS = {
    "date": "datum data fecha dato",
    "time": "uhrzeit zeit heure hora ora tijd tid cas godzina kl",
    "day": "tag jour dia giorno dag dzien",
    "bubbles": "blasen blase blubbs bulles bulle burbujas burbuja bolle bolla bolhas bolha bellen "
    "luchtbellen bubbels bubblor bobler babelki babelkow bubliny bublin",
    "count": "anzahl aantal antal liczba ilosc pocet conteggio contagem recuento",
    "per": "pro par por al na za je",
    "minute": "minuto minuta minuten minut minuty minuti minutos minuter minutter minute",
    "seconds": "sekunde sekunden secondes seconde segundo segundos secondo secondi seconden sekund "
    "sekunder sekundy sek",
    "duration": "dauer duree duracion durata duracao duur varaktighed",
    "temp": "temperatur temperatura temperature temperatuur teplota",
    "gravity": "dichte densite densidad densita densidade dichtheid densitet gestosc hustota "
    "mostgewicht",
    "litres": "liter litros litri litrow litry litru litro",
    "event": "ereignis evenement evento gebeurtenis handelse haendelse zdarzenie udalost",
    "note": "notiz notizen bemerkung bemerkungen remarque remarques nota notas notities opmerking "
    "opmerkingen anteckning anteckningar bemaerkning bemaerkninger noter uwagi uwaga notatki "
    "poznamka poznamky observaciones osservazioni observacoes commentaire",
    "pressure": "luftdruck druck pression presion pressione pressao luchtdruk lufttryck lufttryk "
    "cisnienie tlak",
    "jar": "glas ballon gefass",
}
_DATE = re.compile(r"[0-9]{1,4}\.?(?:[./-]| [^\W\d_])|[0-9]+\.[0-9]")
_UNDECOMPOSED = str.maketrans(
    {
        "\N{LATIN SMALL LETTER L WITH STROKE}": "l",
        "\N{LATIN SMALL LETTER O WITH STROKE}": "o",
        "\N{LATIN SMALL LETTER AE}": "ae",
        "\N{LATIN SMALL LETTER SHARP S}": "ss",
    }
)


def english(word: str) -> str:
    """Give the English for a word of a heading, or the word itself if unknown.

    Examples
    --------
    >>> english("blasen"), english("densit\u00e9"), english("note")
    ('bubbles', 'gravity', 'note')
    """
    return _headings().get(_bare(word), word)


def english_date(tidy: str) -> str:
    """Give a date with an English month, without the weekday and filler words.

    Parameters
    ----------
    tidy : str
        In lower case and single spaces.

    Returns
    -------
    str
        Unchanged if it names no month of these languages.

    Examples
    --------
    >>> english_date("24 de noviembre de 2026"), english_date("di., 24.11.2026")
    ('24 november 2026', '24.11.2026')
    """
    first = re.match(r"([^\W\d_]+)(?:-feira)?[.,]* (?=.*[0-9])", tidy)
    rest = tidy[first.end() :] if first else ""
    if first and _bare(first[1]) in _weekdays() and _DATE.match(rest):  # "mar 24" may be March
        tidy = rest
    told = re.sub(r"[^\W\d_]{3,}", lambda found: _month(found[0]), tidy)
    if told == tidy and not re.search(r"[0-9] d[ei]l? ", tidy):
        return tidy
    return " ".join(word for word in told.split() if word not in _BETWEEN)


def _month(word: str) -> str:
    return _months().get(_bare(word), word)


@cache
def _headings() -> dict[str, str]:
    return {word: told for told, some in _HEADINGS.items() for word in some.split()}


@cache
def _months() -> dict[str, str]:
    return {
        word: month.lower()
        for month, some in zip(MONTHS, _MONTHS, strict=True)
        for word in some.split()
    }


@cache
def _weekdays() -> frozenset[str]:
    return frozenset(word for some in _WEEKDAYS for word in some.split())


def _bare(word: str) -> str:
    """A word in lower case without accents."""
    apart = unicodedata.normalize("NFKD", word.lower().translate(_UNDECOMPOSED))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))
