"""What offices call their columns: for each field, the trade's spellings, the vaguest last.

Spellings are compared by their letters and figures alone. Within a field the order counts:
where two columns could both be the field, the one named earlier here is taken.
"""

import re

from registry.domain.cells import letters_of
from registry.domain.fields import RegistryField as R
from registry.domain.fields import TesterField as T

_REGISTRY: dict[R, str] = {
    R.ACCOUNT: "account|account number|account no|account #|acct|acct #|acct no|acct number|"
    "acct num|account num|account id|customer account|customer account number|customer acct|"
    "customer number|customer no|customer #|customer id|cust #|cust no|cust id|cust acct|"
    "customer acct #|water account|water account number|utility account|utility account number|"
    "billing account|billing account number|service account|service account number|cis account|"
    "a/c|a/c no|acc no|account code|premise id|premises id|premise no|premise number|premise #|"
    "location id|service id|site id|site number|facility id",
    R.PREMISES: "premises|premises name|premise name|customer|customer name|cust name|"
    "account name|facility|facility name|business|business name|site name|site|property name|"
    "service name|company|company name|establishment|building name|occupant|occupant name|"
    "tenant|tenant name|dba|location name|name of premises|name of facility|premise|name",
    R.ADDRESS: "service address|svc addr|svc address|serv addr|serv address|srv addr|"
    "service addr|service street address|service location address|premises address|"
    "premise address|premise addr|site address|site addr|property address|property addr|"
    "physical address|facility address|location address|assembly address|device address|"
    "installation address|install address|backflow address|situs address|situs|service street|"
    "street address|street addr|service address 1|service address line 1|site street|"
    "physical street|address|address 1|address1|address line 1|addr|addr1|addr 1|street|"
    "street name|service location",
    R.ADDRESS_NUMBER: "house number|house no|house #|street number|street no|street #|st no|"
    "st number|st #|address number|bldg no|civic number|svc house number",
    R.ADDRESS_UNIT: "unit|unit #|unit no|unit number|suite|suite #|ste|apt|apt #|address 2|"
    "address2|address line 2|addr2|addr 2|service address 2|service unit|service suite|"
    "service address line 2|svc addr 2|svc unit|site address 2",
    R.CITY: "service city|svc city|serv city|premises city|premise city|site city|"
    "property city|physical city|facility city|city|town|municipality|service town|city/town|"
    "city name",
    R.STATE: "service state|svc state|svc st|serv state|premises state|premise state|"
    "site state|property state|physical state|facility state|state|st|province|state/province|prov",
    R.ZIP: "service zip|service zip code|svc zip|serv zip|premises zip|"
    "premise zip|premise zip code|site zip|property zip|physical zip|facility zip|"
    "zip|zip code|zipcode|postal code|"
    "postcode|postal|zip5|zip+4|zip 4|service postal code|svc zip code|site zip code",
    R.LAT: "lat|latitude|gps lat|gps latitude|lat dd|y|y coord|y coordinate|lat deg|"
    "latitude (y)|northing lat|wgs84 lat|geo lat|point y",
    R.LON: "lon|long|longitude|lng|gps long|gps lon|gps longitude|gps lng|long dd|lon dd|x|"
    "x coord|x coordinate|longitude (x)|wgs84 lon|geo lon|geo long|point x|longitud",
    R.USE: "use|premises type|premise type|premises use|premise use|type of premises|"
    "facility type|type of facility|use type|property use|property type|building use|"
    "building type|business type|type of business|customer type|customer class|account type|"
    "occupancy|occupancy type|class|land use|use code|site type|site use|usage|"
    "premise classification|type of use|industry|sector",
    R.HAZARD: "hazard|hazard level|degree of hazard|hazard degree|haz|haz level|hazard type|"
    "hazard class|hazard classification|hazard rating|haz lvl|haz deg|deg of hazard|"
    "hazard category|health hazard|high hazard|health hazard y/n|high hazard y/n|"
    "health/non-health|high/low|high low|hazard high/low|degree hazard|level of hazard|"
    "risk|risk level|hazard (h/l)|hazard assessment",
    R.OWNER_NAME: "owner name|owner|property owner|property owner name|owners name|owner's name|"
    "name of owner|building owner|responsible party|responsible party name|mail name|"
    "mailing name|mail to|mail to name|bill to|bill to name|billing name|billing customer|"
    "billing contact|mailing contact|owner/agent|owner or agent|owner contact|owner/manager|"
    "addressee|management company|property manager|owner company|owner full name|"
    "owner/representative|customer mailing name|attention",
    R.OWNER_ADDRESS: "owner address|mailing address|mail address|mail addr|mailing addr|"
    "owner addr|owners address|owner's address|owner mailing address|owner street|"
    "billing address|billing addr|bill to address|bill address|bill addr|mail to address|"
    "mailing street|mail street|mailing address 1|mailing address line 1|mail address 1|"
    "mail addr 1|mail addr1|owner address 1|billing address 1|billing street|owner mail address|"
    "correspondence address|postal address|contact address|responsible party address|mail line 1",
    R.OWNER_ADDRESS_UNIT: "mailing address 2|mailing address line 2|mail address 2|mail addr 2|"
    "mail addr2|owner address 2|billing address 2|mail unit|mailing unit|owner unit|mailing suite|"
    "mail suite|billing unit|owner address line 2|mail line 2",
    R.OWNER_CITY: "owner city|mail city|mailing city|billing city|bill city|bill to city|"
    "owner mailing city|mail to city|owner town|mailing town",
    R.OWNER_STATE: "owner state|owner st|mail state|mail st|mailing state|mailing st|"
    "billing state|billing st|bill state|bill st|bill to state|owner mailing state|"
    "mail to state|owner province",
    R.OWNER_ZIP: "owner zip|owner zip code|owner zipcode|mail zip|mail zip code|mail zipcode|"
    "mailing zip|mailing zip code|mailing zipcode|billing zip|billing zip code|bill zip|"
    "bill to zip|owner mailing zip|mail to zip|owner postal code|mailing postal code|"
    "mail postal code|billing postal code",
    R.OWNER_EMAIL: "owner email|owner e-mail|email|e-mail|email address|e-mail address|"
    "mail email|contact email|contact e-mail|customer email|customer e-mail|billing email|"
    "owner email address|e mail|responsible party email|property manager email",
    R.OWNER_PHONE: "owner phone|owner telephone|owner tel|owner phone number|owner phone #|"
    "billing phone|mailing phone|owner cell|owner mobile",
    R.PHONE: "phone|telephone|tel|phone number|phone no|phone #|contact phone|site phone|"
    "customer phone|premises phone|premise phone|facility phone|telephone number|daytime phone|"
    "service phone|phone 1",
    R.SERVICE: "service|service type|svc type|type of service|service kind|service use|"
    "service line|line type|water service|water use|service class|service category|"
    "system type|system|type of system|application|serves|service served|svc|service connection|"
    "connection type|assembly use|device use|assembly service|water service type",
    R.TYPE: "assembly type|device type|bfp type|bpa type|bf type|backflow type|"
    "backflow assembly type|backflow preventer type|backflow device type|backflow prevention type|"
    "type of assembly|type of device|type of backflow|type of backflow preventer|assy type|"
    "preventer type|bfpa type|bpd type|bfd type|prevention assembly type|assembly|device|"
    "bf device type|type of bfp|device category|backflow preventer|bfp|backflow device|"
    "backflow assembly|asse type|unit type|type",
    R.MAKER: "maker|make|manufacturer|mfr|mfg|manuf|manufacture|mfgr|mfgr name|mfr name|"
    "manufacturer name|manf|brand|assembly make|device make|assembly manufacturer|"
    "device manufacturer|bfp make|bfp manufacturer|make/manufacturer|mfg name|manufactured by|"
    "backflow make|backflow manufacturer|assembly mfg|device mfg|brand name",
    R.MODEL: "model|model number|model no|model #|model num|assembly model|device model|mod|"
    "mdl|bfp model|model no.|model name|model id|backflow model|mod no|mod #",
    R.SERIAL: "serial|serial number|serial no|serial #|serial num|s/n|sn|ser #|ser no|ser num|"
    "ser|serial no.|assembly serial|assembly serial number|assembly serial no|assembly serial #|"
    "device serial|device serial number|device serial no|device serial #|bfp serial|"
    "bfp serial number|bfp serial no|bfp serial #|backflow serial|backflow serial number|"
    "backflow serial #|bpa serial|serialnum|serialnumber|serial nbr|serial id|assy serial|"
    "device sn|assembly sn|bfp sn|unit serial number",
    R.SIZE_IN: "assembly size|device size|bfp size|size in|size inches|size (in)|"
    "size (inches)|size (in.)|diameter|dia|diam|nominal size|pipe size|size_in|line size|assy size|"
    "backflow size|size of assembly|size of device|diameter (in)|size in inches|size|valve size|sz",
    R.LOCATION: "assembly location|device location|location of assembly|"
    "location of device|location on site|location description|loc|loc desc|bfp location|"
    "location notes|location details|onsite location|on-site location|on site location|"
    "physical location|install location|installation location|where located|located|"
    "backflow location|location on premises|assembly loc|device loc|location comments|"
    "location of backflow|specific location|placement|location",
    R.PROTECTS: "protects|protection|protection type|type of protection|containment/isolation|"
    "containment or isolation|isolation/containment|cont/iso|containment|purpose|c/i|"
    "protection level",
    R.CHEMICALS: "chemicals|chemicals fed|has chemicals|chemicals used|chemical|chemical feed|"
    "chemical injection|chemical use|chemicals injected|fertilizer injection|chemigation|"
    "injects chemicals|chemicals y/n",
    R.PART_YEAR: "part_year|part year|runs part year|part-year|seasonal|seasonal use|"
    "seasonal service|seasonal y/n|used part of year",
    R.PERMIT_SPACE: "permit_space|permit space|permit space y/n|permit required|"
    "permit required space|permit required confined space|confined space|confined space y/n",
    R.TWIN: "twin|has twin|twin assembly|twin y/n|parallel assembly|in parallel|dual assembly",
    R.SHUTDOWN_TELL: "shutdown_tell|tell before shutdown|shutdown contact|water shutdown contact|"
    "notify before shutdown|whom to tell before shutdown",
    R.SHUTDOWN_DAYS: "shutdown_days|shutdown notice days|days before shutdown|"
    "shutdown notice (days)|days of notice before shutdown",
    R.CALL_WHEN: "call_when|best time to call|best time|best call time|when to call",
    R.ASSIGNED_TO: "assigned_to|assigned to|assigned testing company|assigned company|"
    "testing company assigned|assigned to company",
    R.INSTALLED_ON: "installed on|install date|installed|date installed|installation date|"
    "inst date|date of installation|date of install|instal date|installed date|in service date|"
    "date in service|inservice date|install dt|inst dt|installdate|assembly install date|"
    "device install date|date inst|commissioned|commission date|service start|start date",
    R.LAST_PASSED_ON: "last passed on|last passed|last passing test|last passing test date|"
    "last pass|last pass date|last good test|last satisfactory test|date last passed|"
    "last successful test|last passed test|last passed date|last passed test date|"
    "last approved test|passed on|date passed",
    R.LAST_TESTED_ON: "last tested on|last test|last test date|last tested|date last tested|"
    "last tested date|test date|date of last test|last tst|date tested|tested|tested on|"
    "most recent test|most recent test date|latest test|latest test date|last annual test|"
    "last test dt|previous test|prev test|prior test|prior test date|previous test date|"
    "last inspection|last inspection date|last certified|last cert date|last certification|"
    "test dt|lasttest|lasttestdate|date of test|last backflow test",
    R.RESULT: "result|results|test result|test results|last result|last test result|pass/fail|"
    "pass fail|passed/failed|p/f|last test results|test status|last test status|pass or fail|"
    "test outcome|outcome|passed y/n|last pass/fail|test passed",
    R.STATUS: "status|assembly status|device status|active|active?|active y/n|active/inactive|"
    "bfp status|in service|in service?|service status|current status|state of assembly|"
    "operational status|assy status|backflow status|is active|removed|is removed|inactive|"
    "is inactive|out of service",
    R.DUE_ON: "due on|next due|due date|next test due|next test|due|test due|test due date|"
    "next due date|next test date|next test due date|date due|expires|expiration|"
    "next inspection|next inspection date|annual test due|anniversary|anniversary date|"
    "due dt|next annual test|compliance date|expiration date|expiry date|test due by",
    R.OPENS_ON: "opens on|opens",
    R.STANDING: "standing",
    R.NOTES: "notes|comments|comment|note|remarks|remark|notes/comments|comments/notes|memo|"
    "misc|misc notes|general notes|description|additional info|other|special instructions|"
    "access notes|instructions|assembly notes|device notes|additional notes|internal notes|"
    "additional comments",
}

_TESTERS: dict[T, str] = {
    T.CERTIFICATE: "certificate|certificate number|certificate no|certificate #|cert|cert #|"
    "cert no|cert number|cert num|certification|certification number|certification no|"
    "certification #|tester cert|tester cert #|tester cert no|tester certificate|"
    "tester certificate number|tester certification|tester certification number|tester id|"
    "tester no|tester number|tester #|license|license number|license no|license #|licence|"
    "licence number|licence no|bat number|bat #|tester license|certificate id|cert id|"
    "tester license number|registration number",
    T.NAME: "name|tester|tester name|name of tester|certified tester|full name|tester full name|"
    "technician|employee|employee name",
    T.FIRM: "firm|company|company name|firm name|testing company|testing firm|employer|business|"
    "business name|contractor|contractor name|tester company|organization|organisation|"
    "company/employer|dba|agency",
    T.ISSUED_BY: "issued by|issuer|issuing agency|issuing authority|issuing body|agency issued|"
    "certifying agency|certifying body|certified by|certification agency|certification body|"
    "cert issued by|cert agency|certificate issued by|authority|cert type|issued",
    T.VALID_FROM: "valid from|issue date|issued on|date issued|cert issued|cert issue date|"
    "certificate issue date|certification date|cert date|certified on|certified from|"
    "effective|effective date|effective from|from|start|start date|certificate date|"
    "date certified|license issued|valid since",
    T.VALID_TO: "valid to|valid until|valid through|expires|expiry|expiration|expiration date|"
    "expiry date|exp date|exp|cert expires|cert expiration|cert exp|cert expiry|"
    "cert exp date|cert expiration date|certificate expires|certificate expiration|"
    "certificate expiration date|certificate expiry|certification expires|"
    "certification expiration|certification expiration date|expires on|to|until|"
    "end date|license expires|license expiration|good through|renewal date|valid till",
    T.GAUGE_SERIAL: "gauge serial|gauge serial number|gauge serial no|gauge serial #|gauge|"
    "gauge #|gauge no|gauge number|gauge s/n|gauge sn|gauge id|gage serial|gage serial number|"
    "gage #|gage|gage serial no|gage s/n|test kit serial|test kit|test kit #|test kit number|"
    "test kit serial number|test kit serial no|kit serial|kit serial number|kit #|"
    "test gauge|test gauge serial|equipment serial|serial|serial number|serial no",
    T.GAUGE_CALIBRATED_ON: "gauge calibrated|gauge calibrated on|gauge calibration|"
    "gauge calibration date|gauge cal|gauge cal date|calibrated|calibrated on|calibration|"
    "calibration date|cal date|cal|gage calibrated|gage calibration|gage calibration date|"
    "gage cal date|test kit calibration|test kit calibration date|test kit calibrated|"
    "kit calibration|kit cal date|last calibration|last calibration date|last calibrated|"
    "gauge accuracy date|gauge verification date|gauge test date|accuracy test date|"
    "date calibrated|gauge certified|gauge last calibrated",
    T.CLASSES: "class|certificate class|certificate classes|certification class|"
    "certification classes|cert class|cert classes|tester class",
    T.FIRM_ADDRESS: "firm address|firm mailing address|firm street|company address|"
    "company mailing address|company street|testing company address|business address",
    T.FIRM_CITY: "firm city|company city|testing company city|business city",
    T.FIRM_STATE: "firm state|company state|testing company state|business state",
    T.FIRM_ZIP: "firm zip|company zip|testing company zip|firm zip code|company zip code|"
    "business zip",
    T.FIRM_EMAIL: "firm email|firm e-mail|company email|company e-mail|testing company email|"
    "testing company e-mail|business email",
    T.FIRM_PHONE: "firm phone|company phone|testing company phone|firm telephone|"
    "company telephone|testing company telephone|business phone",
}


def spelling_key(header: str) -> str:
    """A header's letters and figures; number, num, nbr and # are all no."""
    numbered = re.sub(r"#|\b(?:numbers?|num|nbr)\b", " no ", header, flags=re.IGNORECASE)
    return re.sub(r"(?:NUMBERS?|NUM|NBR)$", "NO", letters_of(numbered))


def _ranked(spellings: dict[R, str] | dict[T, str]) -> dict[str, tuple[str, int]]:
    """Each spelling's letters with its field and its rank there; the first field to say it wins."""
    ranks: dict[str, tuple[str, int]] = {}
    for field, said in spellings.items():
        for rank, spelling in enumerate((*said.split("|"), field.value)):
            ranks.setdefault(spelling_key(spelling), (field.value, rank))
    return ranks


REGISTRY_HEADERS = _ranked(_REGISTRY)
TESTER_HEADERS = _ranked(_TESTERS)
