"""The fields of our own that hold rows."""

import pytest
from django import forms

from maintenance.findings.models import Finding
from maintenance.ui.forms import RowsField
from tests.builders import TODAY, make_rig


class Form(forms.Form):
    rows = RowsField(queryset=None)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["rows"].queryset = Finding.objects.all()


@pytest.mark.parametrize("number", ["9" * 19, "-" + "9" * 30, "9" * 5000, "x", "\0"])
def test_number_that_no_row_can_have_then_refused_in_words(number, db):
    row = Finding.objects.create(rig=make_rig(), what="Crack", found_on=TODAY)

    form = Form({"rows": [str(row.pk), number]})

    assert not form.is_valid()
    assert form.errors["rows"]
    assert Form({"rows": [str(row.pk)]}).is_valid()
