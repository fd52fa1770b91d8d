"""What columns are called elsewhere, those too that hold two facts or half of one.

The words are those of the languages' usual forms (common practice), folded: German, French,
Spanish, Polish, Irish, Hungarian and Czech.
"""

import re

WORDS = {
    "name": (
        "kundenname", "name vorname", "vor- und nachname", "vorname und nachname", "vollname",
        "nom complet", "nom et prenom", "prenom et nom", "client(e)", "cliente",
        "nombre completo", "nombre y apellidos", "nombre y apellido", "apellidos y nombre",
        "imie i nazwisko", "nazwisko i imie", "klient", "klientka",
        "nev", "teljes nev", "ugyfel", "jmeno a prijmeni", "cele jmeno",
        "ainm iomlan", "cliant", "full_name", "display name", "contact", "contact name",
    ),
    "phone": (
        "rufnummer", "telefonnr", "telefon-nr", "telefon nr", "tel nr", "tel-nr", "handynummer",
        "handynr", "mobilnummer", "mobilfunk", "festnetz", "telefon mobil",
        "numero de telephone", "n° de telephone", "no de telephone", "telephone fixe", "fixe",
        "tel portable", "tel mobile", "tel fixe", "numero de portable", "gsm",
        "telefono", "tel movil", "movil", "telefono movil", "telefono fijo", "celular",
        "numero de telefono", "n° de telefono", "no de telefono",
        "numer telefonu", "nr telefonu", "nr tel", "komorka", "telefon komorkowy",
        "telefon stacjonarny", "numer komorki",
        "tel privat", "tel geschaftlich", "tel dienstlich", "tel mobil",
        "telefonszam", "mobilszam", "telefonni cislo", "mobilni telefon",
        "guthan", "fon", "uimhir ghuthain", "uimhir fhoin", "fon poca", "fon baile", "teileafon",
        "cell", "cell phone", "landline", "phone no", "tel no", "telephone number",
        "mobile number", "mobile no", "contact number", "phonenumber",
    ),
    "email": (
        "mailadresse", "email-adresse", "emailadresse", "e-mailadresse", "mel", "adresse mail",
        "adresse email", "adresse courriel", "correo", "correo electronico",
        "direccion de correo", "direccion de correo electronico", "adres e-mail", "adres email",
        "adres mailowy", "poczta", "poczta elektroniczna", "riomhphost", "r-phost",
        "e-mail cim", "email cim", "e-mailova adresa",
        "seoladh riomhphoist", "emailaddress",
    ),
    "street": (
        "strasse und hausnummer", "strasse hausnummer", "strasse/hausnummer", "strasse/nr",
        "strasse nr", "strasse, nr", "strasse, hausnummer", "strasse und nr",
        "strasse u hausnummer", "strasse + hausnummer", "adresse postale", "voie",
        "numero et rue", "rue et numero", "adresse 1", "calle", "calle y numero", "domicilio",
        "direccion", "direccion postal", "ulica", "ulica i numer", "ulica i nr", "ulica nr",
        "cim", "lakcim", "utca", "utca hazszam", "adresa", "ulice", "ulice a cislo",
        "adres", "adres zamieszkania", "seoladh", "sraid", "address line 1", "address 1",
        "street address", "address1", "postal address",
    ),
    "postcode": (
        "cp", "codigo postal", "c p", "kod pocztowy", "kod", "cod poist",
        "iranyitoszam", "irsz", "psc",
        "eirchod", "eircode", "zipcode", "postalcode",
    ),
    "city": (
        "wohnort", "localite", "commune", "ciudad", "localidad", "poblacion", "municipio",
        "miasto", "miejscowosc", "baile", "cathair", "baile mor", "town/city", "city/town",
        "varos", "telepules", "mesto", "obec",
        "locality",
    ),
    "country": ("staat", "pais", "kraj", "tir", "orszag", "stat", "zeme"),
    "vat_number": (
        "ust-id", "ust-idnr", "ust-id-nr", "umsatzsteuer-id", "numero de tva", "n° tva",
        "n° de tva", "tva", "nif-iva", "nip ue", "uimhir cbl", "vat", "vat no",
    ),
    "tax_number": ("steuernummer", "nif", "cif", "dni", "nip"),
    "language": ("sprache", "langue", "idioma", "jezyk", "teanga"),
    "contact_person": ("ansprechpartner", "ansprechpartnerin"),
    "notes": (
        "anmerkung", "anmerkungen", "kommentar", "hinweis", "observations", "commentaire",
        "commentaires", "remarque", "notas", "nota", "observaciones", "comentarios", "uwagi",
        "megjegyzes", "poznamka", "poznamky",
        "notatki", "notatka", "komentarz", "notai", "trachtanna", "memo", "comment",
        "remark",
    ),
}  # fmt: skip
MORE_HEADINGS = {word: fact for fact, words in WORDS.items() for word in words}
FIRST_NAMES = (
    "nombre", "nombres", "nombre de pila", "imie", "imiona", "ainm", "cead ainm", "firstname",
    "keresztnev", "utonev", "jmeno", "krestni jmeno",
)  # fmt: skip
LAST_NAMES = (
    "apellido", "apellidos", "primer apellido", "segundo apellido", "nazwisko", "sloinne",
    "lastname", "vezeteknev", "csaladnev", "prijmeni",
)  # fmt: skip

HOUSE_NUMBERS = {
    "hausnummer", "hausnr", "haus-nr", "haus nr", "house number", "house no", "numero de rue",
    "numero de voie", "n° de rue", "numero de calle", "numer domu", "nr domu", "uimhir ti",
    "hazszam", "cislo domu", "cislo popisne",
}  # fmt: skip
FIRMS = {
    "company", "company name", "organisation", "organization", "organization name",
    "organisation name", "firma", "firmenname", "unternehmen", "societe", "entreprise",
    "raison sociale", "empresa", "razon social", "comhlacht", "cuideachta",
}  # fmt: skip
_CODES = ("plz", "postleitzahl", "code postal", "cp", "codigo postal", "kod pocztowy", "kod",
          "cod poist", "postcode", "zip")  # fmt: skip
_TOWNS = ("ort", "wohnort", "stadt", "ville", "ciudad", "localidad", "poblacion", "miasto",
          "miejscowosc", "baile", "town", "city")  # fmt: skip
BOTH = {
    f"{code}{sign}{town}"
    for code in _CODES
    for town in _TOWNS
    for sign in ("/", " / ", " ", ", ", " und ", " et ", " y ", " i ", " agus ", " and ", " + ")
}
# A country's letters, then the code: five or four digits, or as in Poland, Sweden and Portugal.
CODE_AND_TOWN = re.compile(
    r"(?:[A-Z]{1,3}[- ])?(\d{4,5}|\d{2}-\d{3}|\d{3} \d{2}|\d{4}-\d{3}),? (.+)"
)
MARKS = re.compile(r"[.:*]+(?=[\s/,]|$)")


def plain_heading(heading: str) -> str:
    """A folded heading without what stands for "short" or "needed": ``tel. nr.*`` is ``tel nr``."""
    return " ".join(MARKS.sub("", heading.replace("_", " ")).split()) or heading


def code_and_town(place: str) -> dict[str, str]:
    """What *PLZ/Ort* holds, by fact; a town alone where nothing in it is a code."""
    told = CODE_AND_TOWN.fullmatch(place)
    return {"postcode": told[1], "city": told[2]} if told else {"city": place}
