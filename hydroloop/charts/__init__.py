"""Charts: pictures drawn from measures, each with its caption in words."""

from hydroloop.charts.capacity import capacity
from hydroloop.charts.glass import glass
from hydroloop.charts.loop import loop
from hydroloop.charts.parcel import parcel
from hydroloop.charts.picture import Picture
from hydroloop.charts.saving import save
from hydroloop.charts.season import season

__all__ = ["Picture", "capacity", "glass", "loop", "parcel", "save", "season"]
