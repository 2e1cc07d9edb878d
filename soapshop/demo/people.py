"""Who works at the invented Quillfeather Yard."""

from decimal import Decimal

from soapshop.core.models import Role, User, Workshop
from soapshop.core.services.people import add_person
from soapshop.core.services.setup import found
from soapshop.demo.sign_in import PASSWORD, USERNAME


def hire() -> tuple[User, User]:
    """The owner and the maker; a viewer, Odile, looks on."""
    owner = found(
        workshop_name="Quillfeather Yard", username=USERNAME, name="Mirela Quist", password=PASSWORD
    )
    Workshop.objects.update(invented=True, fine_scale_step=Decimal("0.1"), fine_scale_up_to=Decimal(200))
    maker = add_person(username="tobin", name="Tobin Ashgrove", role=Role.MAKER, password=PASSWORD, by=owner)
    add_person(username="odile", name="Odile Farrow", role=Role.VIEWER, password=PASSWORD, by=owner)
    return owner, maker
