"""Forms of the stockroom's pages."""

from inventory.forms.contents import LikeForm
from inventory.forms.deliveries import DeliveryForm, LineForm
from inventory.forms.lots import CorrectForm, DiscardForm, LotForm, ReverseForm
from inventory.forms.materials import MaterialForm
from inventory.forms.suppliers import SupplierForm

__all__ = [
    "CorrectForm",
    "DeliveryForm",
    "DiscardForm",
    "LikeForm",
    "LineForm",
    "LotForm",
    "MaterialForm",
    "ReverseForm",
    "SupplierForm",
]
