"""Where a label gives a range for the set: its end."""
import django.core.validators
from decimal import Decimal
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0022_pricing'),
    ]

    operations = [
        migrations.AddField(
            model_name='adhesive',
            name='set_most_min',
            field=models.PositiveIntegerField(default=0, help_text='Minutes, where the label gives a range; 0: none.', validators=[django.core.validators.MaxValueValidator(100000)], verbose_name='set at the latest'),
        ),
        migrations.AddConstraint(
            model_name='adhesive',
            constraint=models.CheckConstraint(condition=models.Q(('set_most_min__gte', Decimal('0')), ('set_most_min__lte', Decimal('100000'))), name='adhesive_set_most_min_in_range', violation_error_message='The set most min must be from 0 to 100000.'),
        ),
    ]
