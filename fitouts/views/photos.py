"""Photos of a vehicle: taken in, shown and removed behind a permission check."""

from __future__ import annotations

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fitouts import queries
from fitouts.forms.vehicles import PhotoForm
from fitouts.rules import can_survey, is_staff_member
from fitouts.services import photos
from fitouts.views.access import StaffRequest, needs
from fitouts.views.vehicles import vehicle_page


@require_POST
@needs(can_survey)
def photo_add(request: StaffRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(queries.vehicles_for(request.user), pk=pk)
    form = PhotoForm(request.POST, request.FILES)
    if getattr(request, "file_too_large", False):
        form.add_error("photo", photos.too_large_words())
        del form.errors["photo"][:-1]
    elif form.is_valid():
        try:
            photos.add_photo(vehicle, form.cleaned_data["photo"], caption=form.cleaned_data["caption"], by=request.user)
        except photos.PhotoRefused as refused:
            form.add_error("photo", str(refused))
        else:
            messages.success(request, _("Photo kept."))
            return redirect(f"{reverse('vehicle', args=[pk])}#photos")
    return vehicle_page(request, vehicle, photo_form=form, status=422)


@require_safe
@needs(is_staff_member)
def photo(request: StaffRequest, pk: int) -> HttpResponseBase:
    """The picture itself, to people of the workshop only."""
    found = get_object_or_404(queries.photos_for(request.user), pk=pk)
    try:
        stream = found.file.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    response = FileResponse(stream, content_type="image/jpeg", filename=f"photo-{found.pk}.jpg")
    response["Cache-Control"] = "private, max-age=3600"
    return response


@require_POST
@needs(can_survey)
def photo_remove(request: StaffRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.photos_for(request.user), pk=pk)
    photos.remove_photo(found)
    messages.success(request, _("Photo removed."))
    return redirect(f"{reverse('vehicle', args=[found.vehicle_id])}#photos")
