"""The app's questions and answers, one module for each thing that people do with it."""
