"""Words that packing lists use for columns, totals and boxes, in the trade's languages."""

import re
import unicodedata
from functools import lru_cache

SPECIES = ("trade_name", "scientific_name")
IGNORE = "ignore"

HEADINGS: dict[str, str] = {
    "box": """box; box no; box number; boxes no; ctn; carton; carton no; case; case no; caja;
        numero de caja; caixa; karton; kiste; doos; colis; caisse; boite; scatola; cartone;
        kotak; dus; koli""",
    "bag": """bag; bag no; bag number; poly bag; packet; bolsa; numero de bolsa; saco; sac;
        sachet; beutel; tute; zak; busta; sacchetto; kantong""",
    "code": """code; item code; item no; item number; stock code; stock no; stock id; sku;
        article no; article code; art no; product code; species code; ref; reference; codigo;
        cod; referencia; codigo de articulo; code article; artikelnummer; art nr; artikelcode;
        codice; kode; kode barang""",
    "trade_name": """trade name; common name; english name; species; name; description;
        item description; product; product name; product description; fish; fish name; variety;
        nombre comun; nombre comercial; especie; descripcion; producto; nom commun;
        nom commercial; espece; designation; handelsname; deutscher name; bezeichnung;
        artikelbezeichnung; beschreibung; soort; naam; handelsnaam; omschrijving; nome comune;
        nome commerciale; specie; descrizione; nome comum; nome comercial; descricao; nama;
        nama dagang; nama ikan; jenis""",
    "scientific_name": """scientific name; scientific; scientificname; latin name; latin;
        species scientific name; nombre cientifico; nom scientifique; nom latin;
        wissenschaftlicher name; lateinischer name; wetenschappelijke naam; latijnse naam;
        nome scientifico; nome latino; nome cientifico; nama ilmiah; nama latin""",
    "size": """size; size code; length; grade; talla; tamano; taille; grosse; grootte; maat;
        misura; taglia; dimensione; tamanho; ukuran""",
    "quantity": """quantity; qty; qnty; quant; pcs; pieces; count; heads; units; fish count;
        no of fish; number of fish; no of pcs; no of pieces; total qty; total quantity;
        total pcs; total pieces; total fish; qty shipped; quantity shipped; shipped; listed;
        cantidad; cant; unidades; uds; piezas; ejemplares; cantidad total; quantite; qte;
        quantite totale; menge; anzahl; stuck; stuckzahl; stk; gesamtmenge; aantal; stuks;
        quantita; pezzi; quantidade; qtd; qtde; pecas; jumlah; ekor; jumlah ekor""",
    "per_bag": """qty per bag; qty bag; quantity per bag; pcs per bag; pcs bag; per bag;
        fish per bag; fish bag; cantidad por bolsa; uds por bolsa; uds bolsa; por bolsa;
        quantite par sac; par sac; menge pro beutel; stuck pro beutel; pro beutel;
        aantal per zak; per zak; jumlah per kantong""",
    "bags": """bags; no of bags; number of bags; bag count; bolsas; numero de bolsas;
        no de bolsas; sacs; nombre de sacs; anzahl beutel; aantal zakken; zakken""",
    "price": """price; unit price; price each; price per piece; price per fish; price pc; cost;
        unit cost; rate; precio; precio unitario; precio unidad; prix; prix unitaire; preis;
        einzelpreis; stuckpreis; prijs; stukprijs; prezzo; prezzo unitario; preco;
        preco unitario; harga; harga satuan""",
    "amount": """amount; total price; total amount; line total; total value; value; subtotal;
        importe; importe total; montant; montant total; betrag; gesamtpreis; bedrag; importo;
        valor; valor total; jumlah harga""",
    "origin": """origin; country of origin; country; source country; collection area;
        catch area; region; procedencia; origen; pais; pais de origen;
        origine; pays; pays d origine;
        herkunft; herkunftsland; ursprung; herkomst; land van herkomst; provenienza; paese;
        origem; pais de origem; asal; negara asal""",
    "wild": """wild captive; wild or captive; captive wild; w c; wc; w f c b; source; wild;
        captive; wild caught; salvaje criado; silvestre criado; silvestre cautividad;
        sauvage elevage; wildfang nachzucht; wild kweek; selvatico allevato""",
    "waybill": """awb; awb no; awb number; mawb; air waybill; air waybill no; airway bill;
        airway bill no; airwaybill; waybill; waybill no; guia aerea; conocimiento aereo; lta;
        lettre de transport aerien; luftfrachtbrief; luchtvrachtbrief; lettera di vettura aerea;
        conhecimento aereo""",
    "arrival": """arrival; arrival date; date of arrival; arrives; eta; delivery date;
        fecha de llegada; fecha llegada; llegada; date d arrivee; arrivee; ankunft;
        ankunftsdatum; liefertermin; aankomst; aankomstdatum; data di arrivo; arrivo;
        data de chegada; chegada; tanggal tiba""",
    "ordered": """order date; date of order; date ordered; ordered; po date; fecha de pedido;
        fecha del pedido; fecha pedido; date de commande; bestelldatum; bestellt am;
        besteldatum; data ordine; data dell ordine; data do pedido; tanggal pesanan""",
}


def words(text: str) -> frozenset[str]:
    return frozenset(text.split())


NOISE = words(
    """no nr num number numero n nro usd eur gbp aud jpy cny sgd idr php lkr kes us
    cm mm inch pcs pc pieces uds unid stk ea in of de the"""
)
UNITS = words("cm mm inch pcs pc uds unid stk ea usd eur gbp us no nr kg g")
TOTALS = re.compile(
    r"(?:grand |sub ?)?(?:totals?|totales|totaal|totale|gesamt\w*|summe|suma|somme|sum|jumlah"
    r" total|zwischensumme)\b(?P<rest>.*)"
)
NOT_ANIMALS = words(
    """box boxes caja cajas carton cartons bag bags bolsa bolsas kartons sacs weight gross net
    kg peso usd eur gbp amount price value importe montant betrag freight flete"""
)
BOX_HEADING = re.compile(
    r"(?:box|ctn|carton|case|caja|caixa|karton|kiste|doos|colis|caisse|scatola|kotak|koli)"
    r"(?:\s*(?:no|nr|n[°º]|number)\b\.?)?\s*[.:#°º-]*\s*(?P<box>[a-z]?-?\d[\w./-]{0,11}|[a-z]\d*)",
    re.IGNORECASE,
)
WILD = frozenset(
    {
        "w",
        "wc",
        "wild",
        "wild caught",
        "salvaje",
        "silvestre",
        "sauvage",
        "wildfang",
        "selvatico",
    }
)
CAPTIVE = frozenset(
    {"c", "cb", "tr", "f", "f1", "captive", "captive bred", "captive raised", "tank raised"}
    | words("bred aquacultured farmed criado cautividad elevage nachzucht kweek allevato")
)


def key(text: str) -> str:
    """A text as it is compared: without case, accents, marks and doubled spaces."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    letters = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return " ".join(re.findall(r"[^\W_]+", letters))


def _table() -> dict[str, str]:
    return {key(word): field for field, words in HEADINGS.items() for word in words.split(";")}


FIELDS = _table()
FIELD_NAMES = tuple(HEADINGS)


@lru_cache(maxsize=4096)
def field_of(heading: str) -> str | None:
    """The field that a heading names, or None where it names none or two at once."""
    whole = _lookup(heading)
    if whole:
        return whole
    parts = {_lookup(part) for part in re.split(r"[/|]", heading)} - {None}
    return parts.pop() if len(parts) == 1 else None


def _lookup(heading: str) -> str | None:
    unbracketed = re.sub(r"[(\[].*?[)\]]", " ", heading)
    for text in (key(heading), key(unbracketed)):
        if text in FIELDS:
            return FIELDS[text]
    words = [word for word in key(unbracketed).split() if word not in NOISE]
    return FIELDS.get(" ".join(words))
