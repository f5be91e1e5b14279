"""The print pack of a lesson: sheets for students, and pages for the teacher."""
