"""Where towns are: an open list of some 76,000, looked up without a connection.

Source: GeoNames gazetteer (geonames.org), Creative Commons Attribution 4.0; towns above 500
people in the United States, Canada, Mexico, Australia and New Zealand, above 15,000 elsewhere.
"""

from __future__ import annotations

import gzip
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

_PLAIN = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "đ": "d", "ł": "l", "ı": "i", "ð": "d"})
FILE = Path(__file__).parent / "towns.tsv.gz"

# Two-letter names of states and provinces, by the gazetteer's own codes (checked against the
# gazetteer's large towns; Mexico's are ISO 3166-2 without the country).
_PROVINCES = {
    "CA": "01 AB 02 BC 03 MB 04 NB 05 NL 07 NS 08 ON 09 PE 10 QC 11 SK 12 YT 13 NT 14 NU",
    "AU": "01 ACT 02 NSW 03 NT 04 QLD 05 SA 06 TAS 07 VIC 08 WA",
    "MX": "01 AGU 02 BCN 03 BCS 04 CAM 05 CHP 06 CHH 07 COA 08 COL 09 CMX 10 DUR 11 GUA 12 GRO"
    " 13 HID 14 JAL 15 MEX 16 MIC 17 MOR 18 NAY 19 NLE 20 OAX 21 PUE 22 QUE 23 ROO 24 SLP 25 SIN"
    " 26 SON 27 TAB 28 TAM 29 TLA 30 VER 31 YUC 32 ZAC",
}
_SHORT = {
    country: dict(zip(text.split()[::2], text.split()[1::2], strict=True))
    for country, text in _PROVINCES.items()
}

REGIONS = {
    "US": "AL Alabama,AK Alaska,AZ Arizona,AR Arkansas,CA California,CO Colorado,CT Connecticut,"
    "DE Delaware,DC District of Columbia,FL Florida,GA Georgia,HI Hawaii,ID Idaho,IL Illinois,"
    "IN Indiana,IA Iowa,KS Kansas,KY Kentucky,LA Louisiana,ME Maine,MD Maryland,"
    "MA Massachusetts,MI Michigan,MN Minnesota,MS Mississippi,MO Missouri,MT Montana,"
    "NE Nebraska,NV Nevada,NH New Hampshire,NJ New Jersey,NM New Mexico,NY New York,"
    "NC North Carolina,ND North Dakota,OH Ohio,OK Oklahoma,OR Oregon,PA Pennsylvania,"
    "RI Rhode Island,SC South Carolina,SD South Dakota,TN Tennessee,TX Texas,UT Utah,VT Vermont,"
    "VA Virginia,WA Washington,WV West Virginia,WI Wisconsin,WY Wyoming",
    "CA": "AB Alberta,BC British Columbia,MB Manitoba,NB New Brunswick,"
    "NL Newfoundland and Labrador,NS Nova Scotia,ON Ontario,PE Prince Edward Island,QC Quebec,"
    "SK Saskatchewan,YT Yukon,NT Northwest Territories,NU Nunavut",
    "AU": "ACT Australian Capital Territory,NSW New South Wales,NT Northern Territory,"
    "QLD Queensland,SA South Australia,TAS Tasmania,VIC Victoria,WA Western Australia",
    "MX": "BCN Baja California,BCS Baja California Sur,SON Sonora,CHH Chihuahua,SIN Sinaloa,"
    "JAL Jalisco,OAX Oaxaca,YUC Yucatan,ROO Quintana Roo,NAY Nayarit,DUR Durango,GUA Guanajuato",
}
# Names people write for countries; any ISO 3166 two-letter code is understood as well.
COUNTRIES = {
    "united states": "US", "usa": "US", "canada": "CA", "mexico": "MX", "australia": "AU",
    "new zealand": "NZ", "united kingdom": "GB", "england": "GB", "scotland": "GB",
    "wales": "GB", "uk": "GB", "ireland": "IE", "france": "FR", "germany": "DE", "spain": "ES",
    "portugal": "PT", "italy": "IT", "netherlands": "NL", "belgium": "BE", "switzerland": "CH",
    "austria": "AT", "norway": "NO", "sweden": "SE", "finland": "FI", "denmark": "DK",
    "iceland": "IS", "poland": "PL", "greece": "GR", "turkey": "TR", "morocco": "MA",
    "south africa": "ZA", "namibia": "NA", "botswana": "BW", "kenya": "KE", "chile": "CL",
    "argentina": "AR", "brazil": "BR", "peru": "PE", "japan": "JP", "india": "IN",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Town:
    """One town of the list.

    Attributes
    ----------
    region : str
        State or province in short form; empty where the list has none.
    country : str
        ISO 3166 two-letter code.
    latitude, longitude : float
        North and east positive, to a hundredth of a degree [degree].
    people : int
        To the nearest hundred.
    """

    name: str
    region: str
    country: str
    latitude: float
    longitude: float
    people: int

    @property
    def label(self) -> str:
        """Name as it may be written to find this town: ``"Moab, UT"``."""
        where = [self.region] if self.region else []
        if self.country != "US":
            where.append(self.country)
        return ", ".join([self.name, *where])


def folded(name: str) -> str:
    """Name without accents, capitals and punctuation, as towns are looked up."""
    plain = unicodedata.normalize("NFKD", name)
    kept = "".join(mark for mark in plain if not unicodedata.combining(mark))
    kept = kept.casefold().translate(_PLAIN)
    return " ".join("".join(mark if mark.isalnum() else " " for mark in kept).split())


@lru_cache(maxsize=1)
def _listed() -> str:
    """Whole list as text; every line begins after a line feed with the folded name."""
    return gzip.decompress(FILE.read_bytes()).decode("utf-8")


def towns_called(name: str) -> tuple[Town, ...]:
    """Every town of a name, the largest first; none if there is none."""
    text, key = _listed(), folded(name)
    found: list[Town] = []
    at = text.find(f"\n{key}\t") if key else -1
    while at >= 0:
        end = text.index("\n", at + 1)
        found.append(_town(text[at + 1 : end]))
        at = end if text.startswith(f"\n{key}\t", end) else -1
    return tuple(found)


def towns_like(name: str, most: int = 3) -> tuple[str, ...]:
    """Names of the list that are nearly the one given, best first."""
    from difflib import get_close_matches

    key = folded(name)
    if len(key) < 3:
        return ()
    begins = key[:2]
    text = _listed()
    first = text.find(f"\n{begins}")
    keys = set()
    while first >= 0:
        end = text.index("\t", first)
        keys.add(text[first + 1 : end])
        line_end = text.index("\n", end)
        first = line_end if text.startswith(f"\n{begins}", line_end) else -1
    near = get_close_matches(key, sorted(keys), n=most, cutoff=0.75)
    return tuple(towns_called(match)[0].label for match in near)


def _town(line: str) -> Town:
    key, name, region, country, north, east, people = line.split("\t")
    return Town(
        name=name or key.title(),
        region=_SHORT.get(country, {}).get(region, region if country == "US" else ""),
        country=country,
        latitude=int(north) / 100.0,
        longitude=int(east) / 100.0,
        people=100 * int(people),
    )


def lies_in(town: Town, where: str) -> bool:
    """Whether a town lies in a state, province or country named in words or letters."""
    key = folded(where)
    for entry in REGIONS.get(town.country, "").split(","):
        short, _, full = entry.partition(" ")
        if short and short == town.region and key in (short.casefold(), folded(full)):
            return True
    letters = key.upper().replace(" ", "")
    return town.country in (COUNTRIES.get(key), letters) or letters == town.region != ""
