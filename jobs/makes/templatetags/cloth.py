"""How pages and papers show lengths of cloth."""

from django import template

from jobs.makes.lengths import show_cloth

register = template.Library()
register.filter("cloth_length", show_cloth)
