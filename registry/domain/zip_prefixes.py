"""Which state the first three figures of a ZIP code belong to.

From the ranges the United States Postal Service publishes (labeling list L002, three-digit
prefixes by state); checked in the tests against every code of the `zipcodes` package.
"""

_RANGES = (
    "005 NY|006-007 PR|008 VI|009 PR|010-027 MA|028-029 RI|030-038 NH|039-049 ME|050-054 VT"
    "|055 MA|056-059 VT|060-069 CT|063 NY|070-089 NJ|090-098 AE|099 AE NJ|100-149 NY|150-196 PA"
    "|197-199 DE|200 DC|201 VA|202-205 DC|205 MD VA|206-219 MD|220-246 VA|247-268 WV|270-289 NC"
    "|290-299 SC|300-319 GA|320-339 FL|340 AA|341-349 FL|350-369 AL|370-385 TN|386-397 MS"
    "|398-399 GA|400-427 KY|430-459 OH|460-479 IN|480-499 MI|500-528 IA|530-549 WI|550-567 MN"
    "|569 DC|570-577 SD|580-588 ND|590-599 MT|600-629 IL|630-658 MO|660-679 KS|680-693 NE"
    "|700-714 LA|716-729 AR|726 MO|730-749 OK|733 TX|739 TX|750-799 TX|800-816 CO|820-831 WY"
    "|832-838 ID|834 WY|840-847 UT|850-865 AZ|870-884 NM|885 TX|888 DC|889-898 NV|900-961 CA"
    "|962-966 AP|967-968 HI|967 AS|969 GU FM MH MP PW|970-979 OR|980-994 WA|995-999 AK"
)

STATE_NAMES = {
    "AL": "Alabama", "AK": "Alaska", "AZ": "Arizona", "AR": "Arkansas", "CA": "California",
    "CO": "Colorado", "CT": "Connecticut", "DE": "Delaware", "DC": "District of Columbia",
    "FL": "Florida", "GA": "Georgia", "HI": "Hawaii", "ID": "Idaho", "IL": "Illinois",
    "IN": "Indiana", "IA": "Iowa", "KS": "Kansas", "KY": "Kentucky", "LA": "Louisiana",
    "ME": "Maine", "MD": "Maryland", "MA": "Massachusetts", "MI": "Michigan", "MN": "Minnesota",
    "MS": "Mississippi", "MO": "Missouri", "MT": "Montana", "NE": "Nebraska", "NV": "Nevada",
    "NH": "New Hampshire", "NJ": "New Jersey", "NM": "New Mexico", "NY": "New York",
    "NC": "North Carolina", "ND": "North Dakota", "OH": "Ohio", "OK": "Oklahoma", "OR": "Oregon",
    "PA": "Pennsylvania", "RI": "Rhode Island", "SC": "South Carolina", "SD": "South Dakota",
    "TN": "Tennessee", "TX": "Texas", "UT": "Utah", "VT": "Vermont", "VA": "Virginia",
    "WA": "Washington", "WV": "West Virginia", "WI": "Wisconsin", "WY": "Wyoming",
    "PR": "Puerto Rico", "VI": "Virgin Islands", "GU": "Guam", "AS": "American Samoa",
    "MP": "Northern Mariana Islands", "FM": "Micronesia", "MH": "Marshall Islands", "PW": "Palau",
    "AA": "Armed Forces Americas", "AE": "Armed Forces Europe", "AP": "Armed Forces Pacific",
}  # fmt: skip


def _spread(ranges: str) -> dict[str, frozenset[str]]:
    states: dict[str, frozenset[str]] = {}
    for entry in ranges.split("|"):
        span, *codes = entry.split()
        first, _, last = span.partition("-")
        for number in range(int(first), int(last or first) + 1):
            prefix = f"{number:03d}"
            states[prefix] = states.get(prefix, frozenset()) | frozenset(codes)
    return states


STATES_OF_PREFIX = _spread(_RANGES)
