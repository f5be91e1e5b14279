"""Packages: all in the folder of that name, and the bundled scenarios as one more.

The scenarios stand at the top of the checkout, where people look for them; installed, they lie
inside the package, as ``hydroloop/_scenarios``.
"""

from setuptools import find_namespace_packages, setup

setup(packages=[*find_namespace_packages(include=["hydroloop*"]), "hydroloop._scenarios"])
