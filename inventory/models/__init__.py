"""Materials, who sells them, certificates, the lots on the shelf, and the ledger of what came and went."""

from inventory.models.certificates import BAR_SOAP, Certificate, CertificateQuerySet, Substance
from inventory.models.kinds import COUNTED, GRAMS, MILLIMETRES, PERCENT, SAP_VALUE, Digits, Kind
from inventory.models.ledger import Movement
from inventory.models.lots import Delivery, Lot, LotQuerySet
from inventory.models.made import Behaviour, LotPart
from inventory.models.material import Material, MaterialQuerySet, Origin, Supplier

__all__ = [
    "BAR_SOAP",
    "COUNTED",
    "GRAMS",
    "MILLIMETRES",
    "PERCENT",
    "SAP_VALUE",
    "Behaviour",
    "Certificate",
    "CertificateQuerySet",
    "Delivery",
    "Digits",
    "Kind",
    "Lot",
    "LotPart",
    "LotQuerySet",
    "Material",
    "MaterialQuerySet",
    "Movement",
    "Origin",
    "Substance",
    "Supplier",
]
