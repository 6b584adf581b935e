"""What priced jobs with a sheet `Actuals` say of the hours in the rate book, and the rows it could be given."""
