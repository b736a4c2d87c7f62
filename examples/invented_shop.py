"""Quillback Lantern Studio, an invented shop: what it sells, to where, and what it happened to charge.

Nobody's data stands behind it. The percentages are what the shop and its fulfiller happened to put on their
invoices, wrong ones among them; they are no rate table and nothing else reads them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class Design:
    """One thing on sale. Prices and costs are whole cents; `weight` says how often it is drawn."""

    sku: str
    product_class: str
    description: str
    usd: int
    eur: int
    cost: int
    weight: int


@dataclass(frozen=True)
class State:
    """One US destination. `share` is the population in 100 000; `invoice_ppm` what an invoice adds there."""

    code: str
    name: str
    share: int
    invoice_ppm: int
    zips: tuple[str, ...]


@dataclass(frozen=True)
class Country:
    """One destination outside the US, with a few of its postal codes."""

    code: str
    share: int
    postal_codes: tuple[str, ...]


DESIGNS = tuple(
    Design(sku, kind, words, int(usd), int(eur), int(cost), int(weight))
    for sku, kind, words, usd, eur, cost, weight in (
        line.split("|")
        for line in """\
QL-TEE-01|clothing|T-shirt, tide pool|2800|2700|1240|18
QL-TEE-02|clothing|T-shirt, night heron|2800|2700|1240|14
QL-SWT-01|clothing|Sweatshirt, kelp forest|5400|5200|2610|9
QL-HOO-01|clothing|Hooded jacket, sea fog|11800|11200|6350|2
QL-KID-01|clothing_children|Children's T-shirt, hermit crab|2200|2200|1050|5
QL-CAP-01|headwear|Cap, small lantern|2600|2500|1190|8
QL-BEA-01|headwear|Knitted hat, storm petrel|2900|2800|1380|5
QL-MUG-01|homeware|Mug, barnacles|1700|1700|720|15
QL-CUS-01|homeware|Cushion cover, sand dollar|3200|3100|1470|6
QL-BLA-01|homeware|Blanket, harbour map|7900|7600|3890|3
QL-PRI-01|wall_art|Print, rockfish, A3|2400|2300|860|13
QL-PRI-02|wall_art|Print, lighthouse stairs, A2|3600|3400|1320|7
QL-BOO-01|books|Book, A Year of Low Tides|2100|1950|980|8
QL-BOO-02|books|Colouring book, Night Harbour|1400|1300|610|5
QL-CAR-01|stationery|Set of ten cards, shore birds|1500|1450|560|5
""".splitlines()
    )
)

STATES = tuple(
    State(code, name, int(share), int(Decimal(percent) * 10_000), tuple(zips.split()))
    for code, name, share, percent, zips in (
        line.split("|")
        for line in """\
AA|Armed Forces Americas|1|0.00|34010 34036 34066 34088
AE|Armed Forces Europe|4|0.00|09140 09459 09633 09835
AK|Alaska|7|1.82|99506 99540 99603 99664 99704 99801
AL|Alabama|51|9.46|35062 35205 35540 35660 35952 36047 36274 36475 36605 36853
AP|Armed Forces Pacific|4|0.00|96267 96377 96554 96666
AR|Arkansas|31|9.46|71671 71860 72019 72106 72223 72425 72534 72641 72749 72921
AZ|Arizona|74|8.52|85021 85086 85209 85284 85345 85534 85634 85739 86025 86413
CA|California|390|8.99|90248 91406 92154 92657 93410 94030 94709 95337 95631 96015
CO|Colorado|58|7.89|80031 80210 80401 80530 80726 80823 80930 81089 81301 81610
CT|Connecticut|36|6.35|06031 06078 06119 06268 06375 06441 06492 06705 06787 06877
DC|District of Columbia|7|7.00|20003 20008 20015 20020 20045 20391
DE|Delaware|10|0.00|19711 19803 19904 19943 19956 19971
FL|Florida|226|6.98|32113 32343 32608 32832 33130 33408 33605 33872 34229 34734
GA|Georgia|110|7.49|30055 30176 30309 30474 30625 30817 31070 31519 31712 31904
HI|Hawaii|14|4.50|96712 96738 96756 96786 96816 96857
IA|Iowa|32|6.94|50064 50222 50453 50590 50853 51301 51566 52170 52353 52659
ID|Idaho|20|6.03|83237 83333 83451 83611 83686 83847
IL|Illinois|125|8.96|60098 60457 60647 61103 61453 61775 62063 62370 62633 62910
IN|Indiana|68|7.00|46070 46218 46406 46731 46926 47111 47304 47457 47634 47940
KS|Kansas|29|8.69|66086 66542 66930 67140 67484 67744
KY|Kentucky|45|6.00|40069 40313 40737 41011 41214 41554 41773 42081 42326 42635
LA|Louisiana|46|10.11|70065 70343 70449 70563 70715 70791 71045 71227 71341 71446
MA|Massachusetts|70|6.25|01040 01236 01436 01568 01803 01950 02124 02332 02538 02724
MD|Maryland|62|6.00|20630 20714 20812 21005 21093 21216 21540 21660 21769 21851
ME|Maine|14|5.50|04041 04257 04441 04606 04757 04945
MI|Michigan|100|6.00|48070 48202 48412 48637 48838 49051 49266 49452 49710 49876
MN|Minnesota|57|8.13|55055 55330 55426 55775 55977 56121 56243 56360 56542 56684
MO|Missouri|62|8.45|63087 63431 63664 64016 64161 64639 64859 65275 65591 65740
MS|Mississippi|29|7.06|38655 38849 39054 39206 39455 39665
MT|Montana|11|0.00|59038 59225 59349 59484 59731 59868
NC|North Carolina|108|7.00|27106 27405 27607 27876 28034 28216 28392 28525 28643 28754
ND|North Dakota|8|7.09|58048 58254 58372 58490 58636 58773
NE|Nebraska|20|6.98|68070 68368 68626 68780 68941 69157
NH|New Hampshire|14|0.00|03055 03240 03307 03590 03812 03864
NJ|New Jersey|93|6.63|07032 07106 07470 07702 07838 08010 08086 08328 08629 08844
NM|New Mexico|21|7.67|87031 87323 87571 87933 88124 88351
NV|Nevada|32|8.24|89013 89040 89085 89117 89139 89166 89413 89437 89511 89822
NY|New York|196|8.54|10177 10986 11701 12086 12520 12917 13322 13746 14218 14770
OH|Ohio|118|7.29|43105 43420 43754 44060 44275 44626 44906 45244 45614 45819
OK|Oklahoma|40|9.06|73040 73116 73488 73646 73766 74033 74136 74464 74726 74878
OR|Oregon|42|0.00|97023 97101 97209 97327 97386 97444 97495 97636 97818 97876
PA|Pennsylvania|130|6.34|15135 15540 15936 16407 16879 17267 17855 18370 18942 19355
PR|Puerto Rico|12|11.50|00624 00677 00719 00765 00913 00965
RI|Rhode Island|11|7.00|02814 02833 02859 02879 02896 02915
SC|South Carolina|54|7.49|29040 29118 29209 29388 29471 29554 29620 29680 29745 29915
SD|South Dakota|9|6.11|57036 57227 57332 57448 57571 57748
TN|Tennessee|71|9.61|37049 37166 37325 37407 37731 37869 38042 38231 38370 38552
TX|Texas|305|8.20|75147 75640 76085 76554 77032 77523 78121 78589 79022 79546
UT|Utah|34|7.42|84014 84042 84065 84093 84118 84317 84405 84627 84721 84765
VA|Virginia|87|5.77|20191 22469 22737 23027 23226 23513 23917 24136 24347 24563
VT|Vermont|6|6.39|05056 05251 05448 05653 05760 05853
WA|Washington|78|9.51|98034 98148 98272 98362 98512 98605 98816 99003 99134 99324
WI|Wisconsin|59|5.72|53049 53179 53536 53818 54106 54303 54493 54634 54773 54929
WV|West Virginia|18|6.59|24925 25180 25540 25981 26293 26678
WY|Wyoming|6|5.56|82070 82244 82441 82646 82836 83112
""".splitlines()
    )
)

# A radio talk in Atlanta and a reading circle in New Jersey brought more orders than the population would.
FAVOURITES: dict[int, dict[str, int]] = {
    2024: {"CO": 2, "GA": 3, "NJ": 2, "OR": 3, "WA": 5},
    2025: {"CO": 3, "GA": 10, "NJ": 5, "OH": 2, "OR": 3, "WA": 6},
    2026: {"CO": 3, "GA": 7, "NJ": 15, "OH": 13, "OR": 3, "WA": 6},
}

EU_COUNTRIES = tuple(
    Country(code, int(share), tuple(codes.split(",")))
    for code, share, codes in (
        line.split("|")
        for line in """\
DE|70|10115,20095,50667,80331,01067,70173,28195
FR|45|75011,69003,33000,13001,44000,20000
NL|28|1011 AB,3511 BT,9711 LM,6211 CP
IT|24|20121,00184,10121,50122,90133
ES|22|28013,08002,46001,41001,07001
AT|16|1010,8010,5020,6020
BE|14|1000,2000,9000,4000
SE|12|111 20,411 03,211 22
PL|12|00-001,30-001,80-001,50-001
IE|11|D02 X285,T12 W8KP,H91 E2K3
SK|10|811 01,040 01,010 01
CZ|9|110 00,602 00,702 00
DK|9|1050,8000,5000
FI|8|00100,33100,20100
PT|7|1100-148,4000-322,3000-213
HU|6|1051,6720,4024
GR|5|105 57,546 24
RO|5|010011,400001
SI|3|1000,2000
HR|3|10000,21000
LT|3|01100,44240
EE|3|10111,51003
LV|2|LV-1050,LV-3001
LU|2|1111,4001
BG|2|1000,4000
MT|1|VLT 1117
CY|1|1010,3010
""".splitlines()
    )
)
CANARY_ISLANDS = Country("ES", 4, ("35001", "38001"))

OTHER_COUNTRIES = (
    Country("GB", 20, ("SW1A 1AA", "M1 1AE", "EH1 1YZ", "BS1 4DJ", "CF10 1EP")),
    Country("GB", 5, ("BT1 5GS", "BT48 6HQ")),
    Country("NO", 8, ("0150", "5003", "7010")),
    Country("CH", 9, ("8001", "3011", "1201")),
    Country("CA", 26, ("ON M5V 2T6", "BC V6B 1A1", "QC H2Y 1C6", "AB T2P 1J9")),
)

# Two shops that order for resale. The numbers have the right form and were made up for this example.
BUSINESS_BUYERS = (("DE", "20095", "DE111111125"), ("NL", "3511 BT", "NL999999990B01"))

PAPER_DAY = date(2025, 6, 1)
"""From here the fulfiller holds the seller's multi-state form; before, it charged wherever it collects."""

FULFILLER_STATES = frozenset(
    [
        "AZ",
        "CA",
        "CO",
        "CT",
        "FL",
        "GA",
        "IL",
        "IN",
        "MA",
        "MD",
        "MI",
        "MN",
        "NC",
        "NJ",
        "NV",
        "NY",
        "OH",
        "PA",
        "TN",
        "TX",
        "UT",
        "VA",
        "WA",
        "WI",
    ]
)
"""Where the fulfiller charges sales tax."""

FORM_REFUSED = frozenset(["CA", "CT", "MA", "MD"])
"""States of FULFILLER_STATES where that form, with a number of another state, stops nothing."""

FORGOTTEN_STATE = "TN"
"""Here the fulfiller goes on charging although it holds the form."""

NO_TAX_ON_CLOTHING = frozenset(["MN", "NJ", "PA"])
ORIGIN_DECIDES = frozenset(("FL",))
RETAIL_BASE = frozenset(["CA", "CT", "MA"])
"""The fulfiller puts tax on the customer's price here."""

SLOVAK_VAT = ((date(2025, 1, 1), 230_000), (date(2024, 1, 1), 200_000))
"""What the fulfiller adds in Slovakia, newest first, in parts per million."""

SHOP_CHARGES = {"WA": (date(2025, 4, 1), 95_100), "CO": (date(2025, 1, 1), 78_900)}
"""State → since when the shop adds tax to goods, and how much. Colorado is a slip: never registered there."""

SHOP_SHOWS_VAT = {"DE": (date(2026, 1, 1), 190_000), "SK": (date(2026, 2, 1), 230_000)}
"""Country → since when the shop's invoices show the VAT inside the price."""
